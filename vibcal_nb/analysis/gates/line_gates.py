"""Gates of a straight line: levels too close together for one, and rotors at whose speed nothing was read."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from vibcal_nb.analysis.gates.gate import LEVELS, ROTOR, Gate
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close, runs_at
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import LINEARITY

LEAST_SPAN = 0.5  # of the highest level: judgement, no source


def line_gates(case: Case, readings: ScaledReadings) -> Iterator[Gate]:
    """Yield the gates of the lines through the readings that are used, frequency by frequency, then of the rotors."""
    line = np.flatnonzero(readings.on_a_line)
    groups = group_close(readings.frequency_hz[line], within_pct=SAME_FREQUENCY_PCT)
    tested = []
    for group in groups:
        hz, x = float(np.median(readings.frequency_hz[line[group]])), readings.x[line[group]]
        tested.append(hz)
        if len(x) > 1 and float(np.ptp(x)) < LEAST_SPAN * float(x.max()):
            yield _span_gate(hz, float(x.min()), float(x.max()), case)
    for rotor in case.channel.rotors if case.test == LINEARITY else ():
        if not any(runs_at(rotor, hz) for hz in tested):
            yield Gate(
                gate=ROTOR,
                found=f"Linearity was not tested at the running speed of {rotor.name} ({rotor.speed_hz:.5g} Hz)",
                remedy="read levels there as well",
                frequency_hz=rotor.speed_hz,
            )


def _span_gate(hz: float, lowest: float, highest: float, case: Case) -> Gate:
    return Gate(
        gate=LEVELS,
        found=f"At {hz:.5g} Hz the levels run only from {lowest:.3g} to {highest:.3g} {case.input_unit.shown}, which "
        "shows no line",
        remedy=f"read levels of {(1.0 - LEAST_SPAN) * highest:.3g} {case.input_unit.shown} or less as well",
        frequency_hz=hz,
    )
