"""Explanations of faults in tables and plots.

fault_plots      An explanation drawn over the readings it explains, and what would be left were it mended
fault_sentences  Explanations as sentences: what to ask first, how likely, how well it fits, what the readings do
fault_sizes      The sizes of a fault in words, each with its uncertainty
fault_tables     Explanations as tables: how likely, how large, and what to measure next
"""
