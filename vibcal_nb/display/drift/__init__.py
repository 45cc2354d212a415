"""A drift in words, tables and plots.

drift_card        What the card of a drift says: until when in one sentence, and each quantity
drift_plots       Figure of drift: every quantity over the visits on one axis of time
drift_statements  Drift in words: what changed, until when the channel probably stays within its tolerance
drift_tables      Tables of drift: the history, the changes between visits, the trend, and the proposed intervals
drift_view        How a drift is shown
interval_plots    Figure of proposed intervals: every method's on one scale of months
"""
