"""Raw readings → hourly ones, with what was cut counted by its reason.

bounds, spikes, gaps, stuck, flicker, unit_jump, running   one question each: can it be so?
hourly, screen                                    one tag's readings → its hours
judge                                             what only a look at all tags can tell
readings                                          the record handed on
steady                                            which hours count
"""
