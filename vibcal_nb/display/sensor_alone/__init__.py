"""A sensor alone in words, tables and plots.

sensor_card        What the card of a sensor alone says: how it reads in one sentence, and each judged quantity
sensor_plots       Plot of a sensor alone: deviation from the sensitivity at the reference frequency
sensor_statements  A sensor alone in words: its sensitivity, how flat it is, and the physics that its readings fit
sensor_tables      Tables of a sensor alone: its sensitivity at each reading, and the figures of its physics
sensor_view        How a sensor alone is shown
"""
