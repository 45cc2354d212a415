"""A site in tables."""
