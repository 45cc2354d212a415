"""A drift in words, tables and plots."""
