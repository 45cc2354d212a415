"""Explanations of faults in tables and plots.

fault_plots   An explanation drawn over the readings it explains, and what would be left were it mended
fault_tables  Explanations of a channel's readings as tables and sentences: how likely, how large
"""
