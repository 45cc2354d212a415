"""Analyses performed on a visit's folder, and compared with a record."""
