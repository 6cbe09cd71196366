"""Results → records of finished words and numbers; nothing further on does arithmetic.

each, table, shown, limits, reasons, life, changes  parts that several pages have
series, projection, scatter, section                an incident's section and its charts
vessel, scan                                        the report
health, peers, comparison, compare                  vessels side by side
checkpoints, week, digest                           a page a vessel for the week
proof                                               which faults would be found
"""
