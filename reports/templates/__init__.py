"""Templates, styles and scripts, which read hands out."""
