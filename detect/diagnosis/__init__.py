"""What explains a change?

signatures            how each cause moves each residual, at the vessel's own points
work_done             which levels are new because something was put right
odd_days              days far from their week: left out, or a fault that comes and goes
change                onset, shape and size of a change in every residual
by_load               courses of what shows above some load only
unseen_season         what a short baseline's season adds to a change, and to its doubt
remaining             how much of a change is left since it was found going back
search                alarms in the order of a daily watch
explained             how well a cause's effects explain those found; pairs: two causes at once
own_reading           how far a condition's reading moved along, which tells its sensor's drift
priors                what each explanation weighs beforehand
likelihood            which cause, how likely; magnitude: its size as people are told
coverage              which causes these tags can show, and from which size on
"""
