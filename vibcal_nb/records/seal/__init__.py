"""Sealed records, their pages and sign-offs."""
