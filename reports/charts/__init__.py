"""Views → drawings.

style, thin                                 colours, fonts, axes; no more points than can be seen
evidence, projection, scatter, signature    an incident's
section                                     all drawings of a section
zoom, bundled                               what the page needs to draw fewer days, its library as one text
fleet, proof                                side by side; which faults would be found
"""
