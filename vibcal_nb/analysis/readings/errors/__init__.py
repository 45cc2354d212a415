"""Errors of readings, each by its source: how large they are, and what shares them.

certificate_error  The reference's, by frequency, and how far it is one error at all frequencies
distortion_error   What the level's distortion does to a reading, by the detector that reads it
shaker_load        What the shaker and what it carries do to mounting and transverse motion
display_steps      What a display hides: the step behind each number as written
hidden_by_display  Where what displays hide is the most of a reading's uncertainty
setup_drift        How a set-up drifted between the first and the last reading at the reference frequency
repeat_scatter     What repeats show of settling and reading, less what the display rounds
"""
