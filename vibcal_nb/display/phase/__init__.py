"""The phase of an output, within the results that have one, in words, tables and a plot.

phase_plots   Plot of phases over frequency, with the line through them and the limits
phase_tables  Tables of phases: each reading's, and the figures of the line
phase_words   Phases in words: findings, remarks, and each judged quantity of a card
"""
