"""A channel over the years: words, tables, one figure with one axis of years.

life_plots   Drift, verdicts, exchanges and certificates on one axis of years
life_tables  Visits, set points and events as tables; the answer in one sentence
"""
