"""What a result says of a channel's sensitivity at one time, fit to be held against other times.

An observation keeps apart what it shares with others (the same certificate of the same reference or readout: one
error, with the size each visit states for it; what all readings of one visit share) and what is its own. Between
two observations the shared errors cancel as far as they are of equal size; errors of different certificates are
independent.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from vibcal_nb.analysis.gates.gate import EQUIPMENT_GATES, Gate
from vibcal_nb.analysis.readings.errors.certificate_error import OF_THE_REFERENCE
from vibcal_nb.analysis.readings.reading_uncertainty import OF_THE_READOUT
from vibcal_nb.analysis.result import Result, StatedSensitivity
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.conformity.decision import Verdict
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, combine
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.items import Exchange, exchanges, names_of
from vibcal_nb.model.names import AS_LEFT


@dataclass(frozen=True, kw_only=True, slots=True)
class Observation:
    """Deviation of a sensitivity from nominal at one visit, in %.

    ``u_own_pct`` is the standard uncertainty that belongs to this observation alone, with degrees of freedom
    ``nu_own``; ``shared_pct`` the standard uncertainties it shares with every other observation that names the
    same source. ``tolerance_pct`` is None where the deviation has no limit; ``verdict`` is of the whole result.
    ``probability`` is the coverage that the visit states its U for.
    ``items`` names what was tested, by part, and ``nominal`` what the deviation is from (None: not known).
    ``gates`` are those of the equipment: what it was measured with was not in order then.
    """

    quantity: str
    date: date
    visit: str
    condition: str
    deviation_pct: float
    u_own_pct: float
    nu_own: float
    shared_pct: Mapping[str, float]
    tolerance_pct: float | None
    verdict: Verdict
    items: Mapping[str, str] | None = None
    nominal: str | None = None
    gates: tuple[Gate, ...] = ()
    probability: float = PROBABILITY

    @property
    def u_pct(self) -> float:
        """Combined standard uncertainty, in %."""
        return math.sqrt(self.u_own_pct**2 + math.fsum(u**2 for u in self.shared_pct.values()))


def observe(result: Result) -> tuple[Observation, ...]:
    """Return the observations of sensitivity that a result holds, each by its quantity."""
    return tuple(_observation(result, item) for item in result.sensitivities())


def _observation(result: Any, stated: StatedSensitivity) -> Observation:
    case, by_frequency = result.case, {line.name for line in result.uncertainty.at_frequency(stated.frequency_hz)}
    lines = stated.budget.lines
    common = [line for line in lines if line.kind == "common" and line.name not in by_frequency]
    own = combine(*((line.contribution, line.degrees_of_freedom) for line in lines if line not in common))
    return Observation(
        quantity=stated.quantity,
        date=case.visit.date,
        visit=case.visit_name,
        condition=case.condition,
        deviation_pct=stated.deviation_pct,
        u_own_pct=own.u,
        nu_own=own.nu,
        shared_pct={_source(result, stated.frequency_hz, line.name): line.contribution for line in common},
        tolerance_pct=stated.tolerance_pct,
        verdict=result.verdict,
        probability=case.visit.decision.coverage_probability,
        items=names_of(case.items),
        nominal=stated.nominal or f"{case.nominal_sensitivity:.8g} {case.output_unit.text} per {case.input_unit.text}",
        gates=tuple(gate for gate in result.gates if gate.gate in EQUIPMENT_GATES),
    )


def _source(result: Any, frequency_hz: float, line: str) -> str:
    """Name the line's instruments with their certificates: another certificate is another error. Or the visit."""
    instruments: Sequence[Reference | Readout] = ()
    chosen = result.uncertainty.reference_at(frequency_hz)
    if line in OF_THE_REFERENCE and chosen is not None:
        instruments = (chosen.reference,)
    elif line in OF_THE_READOUT:
        instruments = result.case.readouts
    if not instruments:
        return f"{line}, {result.case.asset_tag} {result.case.visit_name}"
    return f"{line}, " + " and ".join(f"{item.id} of {item.calibrated.isoformat()}" for item in instruments)


@dataclass(frozen=True, kw_only=True)
class Break:
    """Why two observations are not of the same thing: items that were exchanged, or another nominal sensitivity.

    ``restated`` holds the nominal before and after, where it changed without an exchange.
    """

    exchanges: tuple[Exchange, ...]
    restated: tuple[str, str] | None


def break_between(before: Observation, after: Observation) -> Break | None:
    """Return what makes the step from one observation to the next something else than drift; None without such."""
    found = exchanges(before.items or {}, after.items or {})
    restated = None
    if not found and before.nominal is not None and after.nominal is not None and before.nominal != after.nominal:
        restated = (before.nominal, after.nominal)
    return Break(exchanges=found, restated=restated) if found or restated else None


def covariance(observations: Sequence[Observation]) -> FloatArray:
    """Return the covariance matrix (n, n) of the deviations, in %², with what the observations share."""
    matrix = np.diag([item.u_own_pct**2 for item in observations])
    for source in {name for item in observations for name in item.shared_pct}:
        u = np.array([item.shared_pct.get(source, 0.0) for item in observations])
        matrix += np.outer(u, u)
    return frozen(matrix)


def without_adjustments(observations: Iterable[Observation]) -> Iterator[tuple[Observation, float]]:
    """Yield each as-found observation, in time, with its deviation in % had nobody ever adjusted the channel.

    The step of every adjustment, from as-found to as-left of one visit, is taken out again of what follows it. So is
    that of an exchange between two visits; the first observation after it, which is all step, is passed over.
    """
    step, before = 0.0, None
    for item in observations:
        broken = before is not None and break_between(before, item) is not None
        if before is not None and (item.condition == AS_LEFT or broken):
            step += item.deviation_pct - before.deviation_pct
        else:
            yield item, item.deviation_pct - step
        before = item
