"""Whole files, locks, places and forms of records."""
