"""Every other screen, one a file."""
