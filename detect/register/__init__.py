"""Identity, state and history of incidents over many scans, in one SQLite file.

finding, look       what one scan says of one vessel
matching, states    which incident that is, and how it stands
file, migrations    the file and its tables
store, history      what is entered, and what is told
"""
