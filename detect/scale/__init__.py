"""Many vessels: one task each, in processes or on a cluster, its result kept as long as it would come out the same.

stamp         what a result was made from
kept          a result as one file
vessel_task   one vessel's whole work
processes, cluster
"""
