"""The names that files, records and the command line use for tests, conditions and analyses."""

from __future__ import annotations

SHAKER_TESTS = ("linearity", "band-response", "sensor-alone")

TESTS = (*SHAKER_TESTS, "module-alone")

CONDITIONS = ("as-found", "as-left")

CHANNEL_VERDICT = "channel-verdict"

DRIFT = "drift"
