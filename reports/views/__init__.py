"""Results → records of finished words and numbers; nothing further on does arithmetic.

each, table, shown, limits, checks, reasons         parts that several pages have
mended, life, changes                               what the register remembers, and what work mended
consequence, series, projection, scatter, section   an incident's section and its charts
vessel, scan                                        the report
health, peers, comparison, compare                  vessels side by side
checkpoints, week, digest                           a page a vessel for the week
proof                                               which faults would be found
"""
