"""The whole channel: its tests together, its alarm reach, which part is off.

alarm_reach       Alarm reach: the true vibration at which a channel indicates its set points
as_found_as_left  As-found against as-left: what the visit changed in a channel
attribution       Along the chain: how much of a channel's deviation is the sensor's
channel_tests     The tests of one channel in one condition, each analysed as its own notebook does
channel_verdict   The whole channel: its tests, its alarm reach, which part is off, and what the visit changed
consequence       What a failed as-found means for the time before: which way and how far the channel read wrong
level_on_line     The level at which a fitted line meets an output, and the bends that are permitted beyond its readings
module_alone      The conditioning module alone: charge or voltage injected in place of the sensor
part_steps        What each part adds to the channel's deviation, and which part is to blame
reach_at_speed    What the readings at one frequency say of an output that the channel has to come to there
reach_by_parts    The level at which a channel gives an output, from its sensor alone and its module alone
reach_point       One set point at one rotor speed: the true vibration at which it is indicated
sensitivity_at    Sensitivities as shares of their nominal value
shown_levels      What the readings at one frequency show by themselves: level by level what the channel indicated

Demonstrated is what was driven from both sides at that speed and indicated. Inferred is a line of readings that follow
it and came to two thirds of the level, a line carried to the speed by the band response, or sensor alone times module
alone. Does not act is what was driven beyond and not indicated: a fail. Beyond the readings U grows by the bends that
the limit of non-linearity permits and the readings do not exclude. Readings that leave the line support nothing beyond
them; set points between them are read off. The two thirds are judgement, in one constant. ``attribution`` divides
channel by sensor: the common reference cancels, mounting does not.
"""
