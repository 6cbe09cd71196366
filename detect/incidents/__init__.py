"""Alarms → ranked incidents.

episodes                           which alarms are one change, when it eased
projection, oxygen, supply         what it does to oxygen, steam and the steam valve
urgency                            how much that matters
build                              the finished record of each
incident, baseline_health          the records of a result
"""
