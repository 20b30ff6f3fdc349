"""The artist's own palette, from swatches or from a measured chart."""
