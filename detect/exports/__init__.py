"""Export files → raw readings by tag, in UTC; and what is said of them before a scan.

files, unpacked                which files a pattern names, of what kind; absurd packings refused
head, header, form             where a text export's table begins, and what each column is
timestamps, values             text → time and number, or why it is none
delimited, columnar, load      the form of a CSV or Parquet export, and the way to read it
engine                         the database that reads
alike, sources, day_order      what several exports settle together: one shape, every tag there, day or month first
tag_units, local_time          each tag's unit; local time → UTC
spans, fetch, merge            readings span by span, tag by tag, each once and in order
gather, read                   one vessel's tags, screened; its hourly readings
sanity, check                  do the units fit the physics; what `check` tells
looks, together                what tags show before anybody says what they are, and how they move together
german, guess, vessels, draft  words in English, roles and vessels that tags could have; what `draft` writes
"""
