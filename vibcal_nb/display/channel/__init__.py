"""A channel's verdict in words, tables and plots.

channel_plots       Figures of a verdict on a whole channel: the ladder of levels, and its tests in small multiples
channel_statements  The verdict on a whole channel in words: one sentence, the reasons, the consequence
channel_tables      Tables of a verdict on a whole channel: reach, attribution, and what the visit changed
channel_view        How a verdict on a whole channel is shown
"""
