"""A channel over its visits, and the next interval."""
