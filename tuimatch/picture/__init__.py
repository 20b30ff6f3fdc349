"""Pictures, read safely."""
