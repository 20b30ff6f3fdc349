"""A whole page: its areas, their passes, and the economy of brushes."""
