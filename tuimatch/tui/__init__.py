"""The interface. Nothing outside this package imports Textual."""
