"""Numerical methods that the documents presuppose."""
