"""Sampled signals in figures.

waveform_plots  Figure of a record: the signal, its level over time, three cycles with the fitted sine, what that leaves
"""
