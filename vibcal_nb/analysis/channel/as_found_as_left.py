"""As-found against as-left: what the visit changed in a channel, and whether the change is more than scatter.

Both were read in one outage. With the same reference and readout what these share cancels; with others it does not, and
both count in full. The sensor may have been mounted anew between the two, so that what levels at one frequency share
does not cancel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.analysis.band_response.band_response import BandResponseResult
from vibcal_nb.analysis.channel.channel_tests import ChannelTests
from vibcal_nb.analysis.channel.sensitivity_at import (
    SensitivityAt,
    line_sensitivities,
    reading_sensitivities,
    sensitivity_at,
)
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.readings.grouping import same_frequency
from vibcal_nb.analysis.sensor_alone.sensor_test import SensorTest
from vibcal_nb.metrology.uncertainty.coverage import Expanded, combine


@dataclass(frozen=True, kw_only=True)
class ConditionChange:
    """One quantity as found and as left.

    ``as_found`` and ``as_left`` are in ``unit``: deviations from nominal in %, corners in Hz. ``change_pct`` is the
    change of the sensitivity or corner in % of the value as found, ``expanded`` its uncertainty. ``tolerance_pct`` is
    the limit on the deviation (None where there is none).
    """

    quantity: str
    unit: str
    as_found: float
    as_left: float
    change_pct: float
    expanded: Expanded
    tolerance_pct: float | None

    @property
    def significant(self) -> bool:
        """Whether the change is larger than its expanded uncertainty (|E_n| > 1, ISO/IEC 17043)."""
        return abs(self.change_pct) > self.expanded.U


def compare_conditions(found: ChannelTests, left: ChannelTests) -> tuple[ConditionChange, ...]:
    """Compare all that was determined in both conditions: sensitivities at their frequencies, corners."""
    changes: list[ConditionChange] = []
    if found.linearity is not None and left.linearity is not None:
        changes += _lines(found.linearity, left.linearity)
    if found.sensor is not None and left.sensor is not None:
        changes += _sensors(found.sensor, left.sensor)
    if found.band is not None and left.band is not None:
        changes += _corners(found.band, left.band)
    return tuple(changes)


def _lines(found: LinearityResult, left: LinearityResult) -> Iterator[ConditionChange]:
    later = line_sensitivities(left)
    for before in line_sensitivities(found):
        near = [a for a in later if same_frequency(a.frequency_hz, before.frequency_hz)]
        for after in near[:1]:
            name = f"sensitivity at {before.frequency_hz:.5g} Hz"
            yield _change(name, before, after, found, left, found.case.channel.tolerance_pct)


def _sensors(found: SensorTest, left: SensorTest) -> Iterator[ConditionChange]:
    hz = found.specification.reference_hz
    before, after = (sensitivity_at(reading_sensitivities(result), hz) for result in (found, left))
    if before is not None and after is not None:
        tolerance = found.specification.tolerance_pct
        yield _change(f"sensor alone at {hz:.5g} Hz", before, after, found, left, tolerance)


def _change(
    name: str,
    before: SensitivityAt,
    after: SensitivityAt,
    found: LinearityResult | SensorTest,
    left: LinearityResult | SensorTest,
    tolerance_pct: float | None,
) -> ConditionChange:
    ratio = after.ratio / before.ratio
    shared_pct = math.sqrt(2.0) * found.uncertainty.u_frequency_pct(before.frequency_hz)
    own = ((100.0 * ratio * item.own, item.nu) for item in (before, after))
    if not _same_instruments(found, left):
        common = (result.uncertainty.u_common_pct(before.frequency_hz) for result in (found, left))
        shared_pct = math.hypot(shared_pct, *common)
    return ConditionChange(
        quantity=name,
        unit="%",
        as_found=100.0 * (before.ratio - 1.0),
        as_left=100.0 * (after.ratio - 1.0),
        change_pct=100.0 * (ratio - 1.0),
        expanded=combine((ratio * shared_pct, math.inf), *own, probability=found.uncertainty.probability),
        tolerance_pct=tolerance_pct,
    )


def _same_instruments(found: LinearityResult | SensorTest, left: LinearityResult | SensorTest) -> bool:
    first, second = found.case, left.case
    return (first.references, first.readouts) == (second.references, second.readouts)


def _corners(found: BandResponseResult, left: BandResponseResult) -> Iterator[ConditionChange]:
    for side, name in (("low", "lower corner"), ("high", "upper corner")):
        before, after = found.corners[side], left.corners[side]
        if before.hz is None or after.hz is None or before.expanded is None or after.expanded is None:
            continue
        ratio = after.hz / before.hz
        yield ConditionChange(
            quantity=name,
            unit="Hz",
            as_found=before.hz,
            as_left=after.hz,
            change_pct=100.0 * (ratio - 1.0),
            expanded=combine(
                *((100.0 * ratio * part.u, part.nu) for part in (before.expanded, after.expanded)),
                probability=found.uncertainty.probability,
            ),
            tolerance_pct=None,
        )
