"""What draws on more than one screen."""
