"""The names that files, records and the command line use: tests, analyses, conditions. Each stands here once.

The words of a verdict stand in `vibcal_nb.metrology.conformity.decision`, beside the rule that gives them.
"""

from __future__ import annotations

from typing import Final

LINEARITY: Final = "linearity"
BAND_RESPONSE: Final = "band-response"
SENSOR_ALONE: Final = "sensor-alone"
MODULE_ALONE: Final = "module-alone"
GAP_CURVE: Final = "gap-curve"

SHAKER_TESTS = (LINEARITY, BAND_RESPONSE, SENSOR_ALONE)
"""Tests in which a shaker drives the sensor."""

INDICATION: Final = "indication"
SET_POINT: Final = "set-point"
VOTING: Final = "voting"
ELECTRICAL: Final = "electrical"

CHECKS = (SET_POINT, VOTING, ELECTRICAL)
"""Tests whose rows hold something else than a level and an output."""

TESTS = (*SHAKER_TESTS, MODULE_ALONE, GAP_CURVE, INDICATION, *CHECKS)
"""What the column ``test`` of a reading table may say."""

STATIC_TESTS = (GAP_CURVE,)
"""Tests in which nothing vibrates: their readings have no frequency, which is 0 Hz then."""

READ_BY_ITSELF = (INDICATION, SET_POINT, VOTING)
"""Tests that no readout takes part in: the monitor and its relays show what they do."""

SET_POINTS: Final = "set-points"
"""The analysis of the test of set points."""

DRIFT: Final = "drift"
CHANNEL_VERDICT: Final = "channel-verdict"
ALL_TESTS: Final = "all-tests"
"""What an overview of a site is sealed as."""

AS_FOUND: Final = "as-found"
AS_LEFT: Final = "as-left"

RISING: Final = "rising"
FALLING: Final = "falling"

DIRECTIONS = (RISING, FALLING)
"""What the column ``direction`` of a reading table may say, and where a set point acts."""

ALERT: Final = "alert"
TRIP: Final = "trip"

ACTED = ("yes", "no")
"""What the column ``acted`` of a reading table may say."""

CONDITIONS = (AS_FOUND, AS_LEFT)
"""What the column ``condition`` of a reading table may say."""

POLARITIES = ("+", "-")
"""What ``polarity`` of a phase may say: whether the output follows a level, or goes against it."""

BUTTERWORTH: Final = "butterworth"

FILTERS = (BUTTERWORTH,)
"""What ``filter`` of a channel's band may say."""
