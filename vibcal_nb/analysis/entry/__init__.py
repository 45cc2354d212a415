"""Readings as they are taken, one by one: what comes next, what a reading says, and what is still missing.

- ``steps``: what is to be read, from a plan or from a prepared table, and which of it was read
- ``more_steps``: what a person may want besides: the levels falling, the run once more, a last check
- ``answer``: what one reading says at once: within or without, how far, and what to ask about it
- ``coming_off``: whether a sensor may come off: per test what is read, missing, and judged
- ``gained``: what further readings would add for finding a fault
- ``pace``: about how long the rest takes
"""
