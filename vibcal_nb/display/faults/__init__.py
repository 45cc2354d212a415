"""Explanations of faults in tables and plots."""
