"""What physics leaves over.

terms   as columns with priors
lent    what one vessel lends to others of it
pool    what is lent, as one prior
"""
