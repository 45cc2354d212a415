"""Readings in tables: as they were typed, and what was made of each.

input_tables    What was put in: what a channel or its sensor should do, and who measured with what
point_columns   Judged readings as columns of numbers, units in the headings, for whoever calculates on with them
readings_table  The readings of a result in one table, the worst first
"""
