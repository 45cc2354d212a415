"""A gap curve in words, tables and plots.

gap_card        What the card of a gap curve says: how it reads in one sentence, and each judged quantity
gap_plots       Plots of a gap curve: voltage against gap, increments, deviation from the line
gap_statements  A gap curve in words
gap_tables      Tables of a gap curve: its figures, its increments, its readings
gap_view        How a gap curve is shown
"""
