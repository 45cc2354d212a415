"""Linearity of a channel at each running speed."""
