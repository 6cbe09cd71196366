"""Alarms → ranked incidents.

episodes                           which alarms are one change, when it eased
projection, oxygen, urgency        what it does to oxygen and steam, and how much that matters
build                              the finished record of each
incident, baseline_health          the records of a result
"""
