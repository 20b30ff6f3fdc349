"""Colour: CIELAB and CIEDE2000, colours as CSS writes them, and differences in words."""
