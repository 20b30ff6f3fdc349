"""The match screen."""
