"""A drift in words, tables and plots.

drift_card        What the card of a drift says: until when in one sentence, and each quantity
drift_plots       Figure of drift: deviations over the visits with the trend, its forecast
drift_statements  Drift in words: what changed, until when the channel probably stays within its tolerance
drift_tables      Tables of drift: the history, the changes between visits, the trend, and the proposed intervals
drift_view        How a drift is shown
"""
