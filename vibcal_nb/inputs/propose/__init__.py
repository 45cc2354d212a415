"""A layout proposed for a file: every choice with its reason, and what a person has yet to state.

trade_words   What people call columns, tests and conditions, in English, German and French
heads         Units and numbers in headings: ``Output [mV pk]``, ``5 mm/s``
find_parts    Where on a sheet the tables are: their headings, units, first and last rows
columns       What the columns of a table may be, by their headings and units
facts         What is said above a table: test, condition, frequency, day, channel
propose       All of it as a layout, with the reasons and what is open
layout_text   A layout as TOML that a person reads and edits

A proposal reads nothing by itself: it becomes a file, and only what stands in that file is followed (`inputs.layout`).
Words are matched whole; where two meanings are possible, or none, it says so and leaves the choice open. The lists of
words are common practice, no source.
"""
