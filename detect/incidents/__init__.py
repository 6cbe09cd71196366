"""Alarms → ranked incidents.

episode                            one change as it is seen from some day
ends                               when it eased, how much of it shows lately
episodes                           which alarms are one change
evidence                           what speaks for its explanations
projection, oxygen, supply         what it does to oxygen, steam and the steam valve
urgency                            how much that matters
build                              the finished record of each
incident, baseline_health          the records of a result
"""
