"""Notebooks times channels to records, from the command line."""
