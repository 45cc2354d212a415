"""A linearity in words, tables and plots.

linearity_card        What the card of a linearity says: how it reads in one sentence, and each judged quantity
linearity_plots       Plots of a linearity: output against level with its line
linearity_statements  A linearity test in words: slope, single readings, non-linearity
linearity_tables      Tables of a linearity test: the readings against the line
linearity_view        How a linearity is shown
"""
