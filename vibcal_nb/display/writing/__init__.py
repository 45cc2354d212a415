"""Words, numbers and tables."""
