"""Faults of known size in copies of one's own readings: which are found, and how soon?

copies, faults    a copy of the baseline, and a fault in it
trials, sizes     scan after scan, and the size that is found nine times in ten
records
"""
