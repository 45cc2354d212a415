"""Phase of an output against the level: limits, polarity, delay.

along_the_chain  Where along the chain a polarity turns round
phase            What phases over frequency show, and how that keeps to what a channel states
known_lead       The lead of a second-order sensor, as its magnitudes tell it
phase_readings   The phases of a test in the quantities of the part under test, with their errors

The phase is the output's against the level as it was applied. Where the part is stated in another quantity (a velocity
channel driven by a level in g), the angle between both is taken off, so that a polarity is that of the part.
"""
