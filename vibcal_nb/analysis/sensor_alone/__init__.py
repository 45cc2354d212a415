"""Sensitivity and flatness of a sensor alone."""
