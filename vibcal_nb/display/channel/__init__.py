"""A channel's verdict in words, tables and plots.

channel_card        What the card of a whole channel says: the verdict in one sentence, its tests, and where its set
channel_statements  The verdict on a whole channel in words: one sentence, the reasons, the consequence
channel_tables      Tables of a verdict on a whole channel: reach, attribution, and what the visit changed
channel_view        How a verdict on a whole channel is shown
part_plots          Figure of the parts: a sketch with the part to blame outlined, and what each part adds
reach_statements    Where a channel's set points stand in true vibration, in words
set_point_plots     Figure of the set points: where each is set and at what true vibration it comes
tests_plots         Figure of the tests: as found beside as left on the same scales
"""
