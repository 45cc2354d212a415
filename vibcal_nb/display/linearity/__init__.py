"""A linearity in words, tables and plots."""
