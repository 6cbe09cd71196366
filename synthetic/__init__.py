"""Made-up plants with labelled faults, written as exports. Shares no model with what it tests.

units, steam, closures    physics of its own
drivers                   load, weather, season, outages
vessel, plant, tuning     one deaerator, and how plants differ
unusual                   ways of running that few have
faults                    labelled changes of a plant's parameters
simulation                plants over time
sensors, historian        what instruments make of it, and what is stored
forms                     the same readings in every form of export
fleet, demo               many plants with a file of the truth; the demonstration's
"""
