"""Recipes of fixed ink tints for a wanted colour, beside the drawing.

The way through the package follows the data: a palette file (`palette_file`) becomes a `palette`,
the palette's recipes get their colours (`halftone`, `recipes`), the recipes are ordered against a
target (`target`, `ranking`), and the answer is shown (`tui`), printed (`cli`) or kept (`log`).
"""

__version__ = "0.1.0"
