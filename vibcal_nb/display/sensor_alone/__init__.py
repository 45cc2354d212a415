"""A sensor alone in words, tables and plots."""
