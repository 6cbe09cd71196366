"""Operating conditions and health → what a vessel should read.

conditions, health   what the forward model is given
model                the model
fit                  health on the baseline
reconcile, meters    do the meters agree with mass and heat?
"""
