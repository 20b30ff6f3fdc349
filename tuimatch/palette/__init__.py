"""A palette: paper, inks and their ladders of tints; its file, and its checks."""
