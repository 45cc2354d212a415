"""Which readings a visit needs, and which of them a shaker reaches.

asset_plan             The plan for the channels of an asset: one shaker for all
beyond_reach           What would cover a point that a shaker does not reach: another shaker, or electrical injection
certificates           Certificates held against the planned day: which will have run out, and which will be valid
channel_plan           The plan of a visit to one channel: points within the shaker's reach
expected_output        What a good channel puts out at a planned point
limits_broken          Which of many simulated runs of one test break a limit, all at once
more_readings          What a few more readings would do for the power of a plan, the most for the fewest first
plan                   A plan: the readings to take of one channel, and what the shaker cannot show
planned_case           A plan as if its readings had been taken: what an analysis would be made from
power                  Power of a plan: the chance that its readings show a fault
preferred_frequencies  Preferred frequencies of ISO 266: the R10 series of ISO 3, by their nominal values
shaker                 What a shaker reaches with a given moving mass: the least of its stroke
simulated_faults       What a faulty channel puts out at planned points: gain, corners, clipping, leak
wanted_points          Which levels and frequencies the tests of a channel need, whatever the shaker can do about them

``wanted_points`` says what the tests need, ``channel_plan`` clips it to what ``shaker`` reaches, ``expected_output``
adds what a good channel puts out.
"""
