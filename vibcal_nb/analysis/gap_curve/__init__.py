"""Gap curve of an eddy-current probe: voltage against gap before a target at rest.

API 670 (numbers from memory: 7.87 V/mm, increments within 5 % at steps of 0.25 mm, deviation from the best line within
25.4 um). Each way over the gaps is a run of its own, so that a micrometer's backlash moves no increment.

gap_curve      The result, and the analysis that makes it
gap_runs       Readings as runs: each way over the gaps, one voltage a gap
gap_errors     Errors of gaps and voltages, carried to whatever is worked out of them
increments     Sensitivity from gap to gap
linear_range   The stretch of gaps in which all limits hold
rest_gap       The voltage at the gap at which the probe stands when the machine is at rest
backlash       What rising and falling gaps differ by
"""
