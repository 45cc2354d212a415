"""The names that files, records and the command line use: tests, analyses, conditions. Each stands here once.

The words of a verdict stand in `vibcal_nb.metrology.conformity.decision`, beside the rule that gives them.
"""

from __future__ import annotations

from typing import Final

LINEARITY: Final = "linearity"
BAND_RESPONSE: Final = "band-response"
SENSOR_ALONE: Final = "sensor-alone"
MODULE_ALONE: Final = "module-alone"

SHAKER_TESTS = (LINEARITY, BAND_RESPONSE, SENSOR_ALONE)
"""Tests in which a shaker drives the sensor."""

TESTS = (*SHAKER_TESTS, MODULE_ALONE)
"""What the column ``test`` of a reading table may say."""

DRIFT: Final = "drift"
CHANNEL_VERDICT: Final = "channel-verdict"

AS_FOUND: Final = "as-found"
AS_LEFT: Final = "as-left"

DIRECTIONS = ("rising", "falling")
"""What the column ``direction`` of a reading table may say."""

CONDITIONS = (AS_FOUND, AS_LEFT)
"""What the column ``condition`` of a reading table may say."""

BUTTERWORTH: Final = "butterworth"

FILTERS = (BUTTERWORTH,)
"""What ``filter`` of a channel's band may say."""
