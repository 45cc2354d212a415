"""Notebooks times channels to records."""
