"""The table to fill in, and rows appended to it."""
