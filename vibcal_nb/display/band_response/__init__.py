"""A band response in words, tables and plots.

band_card        What the card of a band response says: how it lies in one sentence, and each judged quantity
band_plots       Plot of a band response: readings in dB, limits, the fitted model with its corners
band_statements  A band response in words: the flat part, the limits, the corners
band_tables      Tables of a band response: the response at each reading
band_view        How a band response is shown
"""
