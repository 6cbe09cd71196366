"""Does a residual move, since when, and how? Knows no steam.

autoregression, innovations   what a day adds to the days before it
cusum, ewma, runlength        charts over many residuals, and their limits
watch, bootstrap              day by day; do theory's limits hold on the vessel's own days?
switching, change             onset and shape of a move
trend                         slope and its test, told of autocorrelation
"""
