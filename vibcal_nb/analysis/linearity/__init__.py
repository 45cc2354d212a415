"""Linearity of a channel at each running speed.

judged_reading   One reading of a line, judged on the scale of its tolerance: in % of the reading, or in % of span
line_assessment  The straight line through the readings at one frequency, and all that it shows
line_shape       How the readings at one frequency depart from a straight line: kinds of non-linearity, bow
linearity        Linearity of a channel: at each frequency, the output against the level, and the line through it
zero_error       The zero of a dc output, told apart from its span

The span of non-linearity runs from the output zero to the output at the highest level, since the lower range-value of a
vibration channel is zero. Where a line's chi-squared test fails, its uncertainty comes from the scatter.
"""
