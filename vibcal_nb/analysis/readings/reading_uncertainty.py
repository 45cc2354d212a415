"""From equipment and readings to the uncertainty of each reading, in two classes kept apart.

*Common*: what all readings of a visit share (the reference's certificate and drift, the readout's gain). It
does not average down with more readings, and cancels in ratios and in non-linearity. *Independent*: what
differs from reading to reading (settling, noise, resolution). Sources: JCGM 100:2008, 4 and 5; ISO/TS
28037:2010, 9 and 10 on what a covariance between readings does to a line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, cached_property
from typing import TypeVar

import numpy as np

from vibcal_nb.analysis.readings.chosen_reference import ChosenReference, choose_reference
from vibcal_nb.analysis.readings.contributions import (
    DRIFT_PCT_PER_YEAR,
    JUDGEMENT,
    SETTLING,
    StatedContribution,
    state_contributions,
)
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, SAME_LEVEL_PCT, group_close
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, root_sum_squares
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.names import MODULE_ALONE

OF_THE_REFERENCE = ("reference level", "reference drift")  # its budget lines
FEWEST_DEGREES = 4  # with fewer, the scatter of repeats is known less well than the default's judgement

T = TypeVar("T")

_ROOT_12 = math.sqrt(12.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadingUncertainty:
    """Standard uncertainties of the readings of one case.

    ``reference_at(frequency)`` is what a level there is known by (None where no reference is named);
    ``common(frequency)`` gives the common budget lines, in % of the sensitivity; ``at_frequency`` the lines
    that all levels at one frequency share, in %; ``independent`` those of a single reading, in %.
    ``u_x`` and ``u_y`` (n,) are the independent standard uncertainties in the units of ``x`` and ``y``,
    resolution included. ``remarks`` say what a reader of the verdict must know about the equipment.
    ``probability`` is the coverage probability that every U of the case is stated for.
    """

    reference_at: Callable[[float], ChosenReference | None]
    common: Callable[[float], tuple[BudgetLine, ...]]
    at_frequency: tuple[BudgetLine, ...]
    independent: tuple[BudgetLine, ...]
    u_x: FloatArray
    u_y: FloatArray
    zero_leverage: FloatArray
    u_readout_pct: float
    degrees_of_freedom: float
    remarks: tuple[str, ...]
    probability: float = PROBABILITY

    def u_common_pct(self, frequency_hz: float) -> float:
        """Standard uncertainty of the common part at a frequency, in %."""
        return root_sum_squares(line.standard_uncertainty for line in self.common(frequency_hz))

    def u_common_ratio_pct(self, frequency_hz: float, reference_hz: float) -> float:
        """What of the common part is left in the ratio of two sensitivities, in %.

        A certificate's uncertainty is taken as one error with the sizes it states at the two frequencies, so
        that equal sizes cancel and unequal ones leave their difference. Errors of two references are independent.
        """
        pairs = zip(self.common(frequency_hz), self.common(reference_hz), strict=True)
        one = self._same_reference(frequency_hz, reference_hz)
        return root_sum_squares(
            a.standard_uncertainty - b.standard_uncertainty
            if one or a.name not in OF_THE_REFERENCE
            else math.hypot(a.standard_uncertainty, b.standard_uncertainty)
            for a, b in pairs
        )

    def _same_reference(self, *frequencies_hz: float) -> bool:
        first, *others = (self.reference_at(hz) for hz in frequencies_hz)
        return all(first is not None and o is not None and o.reference == first.reference for o in others)

    @cached_property
    def u_frequency_pct(self) -> float:
        """Standard uncertainty of what the levels at one frequency share, in %."""
        return root_sum_squares(line.standard_uncertainty for line in self.at_frequency)


def assess_readings(case: Case, scaled: ScaledReadings) -> ReadingUncertainty:
    """Derive the uncertainty of each reading from the certificates, the visit's edits and repeat readings."""
    stated = state_contributions(case.visit, electrical=case.test == MODULE_ALONE)
    independent = _independent_lines(stated, scaled)
    relative = _relative_independent(independent, scaled)
    readout = _largest(case.readouts, key=lambda item: item.expanded_pct / item.k)
    fixed = _fixed_common_lines(readout, stated)

    @cache  # asked for at every reading, several times
    def reference_at(frequency_hz: float) -> ChosenReference | None:
        return choose_reference(case.references, frequency_hz)

    @cache
    def common(frequency_hz: float) -> tuple[BudgetLine, ...]:
        return (*_reference_lines(reference_at(frequency_hz), case.visit.date), *fixed)

    return ReadingUncertainty(
        reference_at=reference_at,
        common=common,
        at_frequency=tuple(s.line for s in stated if s.line.kind == "common" and s.varies_with_frequency),
        independent=independent,
        u_x=frozen(scaled.resolution_x / _ROOT_12),
        u_y=frozen(_independent_u_y(scaled, relative)),
        zero_leverage=frozen(_zero_leverage(scaled)),
        u_readout_pct=0.0 if readout is None else readout.expanded_pct / readout.k,
        degrees_of_freedom=_degrees_of_freedom(independent),
        remarks=_equipment_remarks(case, scaled),
        probability=case.visit.decision.coverage_probability,
    )


def _largest(items: Sequence[T], *, key: Callable[[T], float]) -> T | None:
    """Where a visit names several readouts, no reading says which: the widest counts."""
    return max(items, key=key, default=None)


def _reference_lines(chosen: ChosenReference | None, on: date) -> tuple[BudgetLine, ...]:
    if chosen is None:
        return ()
    band = chosen.band
    source = f"certificate of {chosen.reference.id}, {band.from_hz:g} to {band.to_hz:g} Hz"
    level = BudgetLine(name="reference level", value=band.expanded_pct, k=band.k, kind="common", source=source)
    return level, _drift_line(chosen.reference, on)


def _fixed_common_lines(readout: Readout | None, stated: tuple[StatedContribution, ...]) -> tuple[BudgetLine, ...]:
    lines = [s.line for s in stated if s.line.kind == "common" and not s.varies_with_frequency]
    if readout is not None:
        line = BudgetLine(
            name="readout gain",
            value=readout.expanded_pct,
            k=readout.k,
            kind="common",
            source=f"certificate of {readout.id}",
        )
        lines.insert(0, line)
    return tuple(lines)


def _drift_line(reference: Reference, on: date) -> BudgetLine:
    years = max((on - reference.calibrated).days, 0) / 365.25
    rate = reference.drift_pct_per_year
    source = f"{DRIFT_PCT_PER_YEAR:g} % a year: {JUDGEMENT}" if rate is None else f"{rate:g} % a year, equipment.toml"
    return BudgetLine(
        name="reference drift",
        value=years * (DRIFT_PCT_PER_YEAR if rate is None else rate),
        distribution="rectangular",
        kind="common",
        source=f"{source}; {years:.1f} years since calibration",
    )


def _independent_lines(stated: tuple[StatedContribution, ...], scaled: ScaledReadings) -> tuple[BudgetLine, ...]:
    """The scatter of repeats replaces the judgement on settling where there are enough of them."""
    lines = [s.line for s in stated if s.line.kind == "independent"]
    scatter_pct, nu = pooled_scatter_pct(scaled)
    if nu < FEWEST_DEGREES or scatter_pct == 0.0:
        return tuple(lines)
    measured = BudgetLine(
        name=SETTLING,
        value=scatter_pct,
        kind="independent",
        degrees_of_freedom=nu,
        source=f"pooled scatter of the repeat readings, {nu} degrees of freedom (type A)",
    )
    # Cable strain moves the repeats as well: it is in their scatter and must not count twice.
    return tuple([measured] + [line for line in lines if line.name not in (SETTLING, "cable strain")])


def pooled_scatter_pct(scaled: ScaledReadings) -> tuple[float, int]:
    """Pooled standard deviation of repeats (same frequency, level, direction), in %, and its degrees of freedom.

    Source: JCGM 100:2008, 4.2.4 and H.3.6 (pooled estimate).
    """
    total, nu = 0.0, 0
    ratio = np.divide(scaled.y, scaled.x, out=np.zeros(len(scaled)), where=scaled.x > 0.0)
    usable = np.flatnonzero(scaled.used & (scaled.x > 0.0) & (ratio > 0.0))
    for group in _repeat_groups(scaled, usable):
        relative = ratio[group] / ratio[group].mean()
        total += float(((relative - 1.0) ** 2).sum())
        nu += len(group) - 1
    return (100.0 * math.sqrt(total / nu), nu) if nu else (0.0, 0)


def _repeat_groups(scaled: ScaledReadings, usable: np.ndarray) -> list[np.ndarray]:
    groups = []
    directions = np.array([r.direction or "" for r in scaled.readings])
    for direction in np.unique(directions[usable]):
        same = usable[directions[usable] == direction]
        for at_frequency in group_close(scaled.frequency_hz[same], within_pct=SAME_FREQUENCY_PCT):
            chosen = same[at_frequency]
            levels = group_close(scaled.x[chosen], within_pct=SAME_LEVEL_PCT)
            groups += [chosen[level] for level in levels if len(level) > 1]
    return groups


def _relative_independent(lines: tuple[BudgetLine, ...], scaled: ScaledReadings) -> FloatArray:
    """Relative u of each reading's own part, shape (n,): what was determined with a reading replaces settling."""
    usual = root_sum_squares(line.standard_uncertainty for line in lines)
    rest = root_sum_squares(line.standard_uncertainty for line in lines if line.name != SETTLING)
    own = [usual if r.u_pct is None else math.hypot(r.u_pct, rest) for r in scaled.readings]
    return np.array(own) / 100.0


def _independent_u_y(scaled: ScaledReadings, relative: FloatArray) -> FloatArray:
    u_y = np.hypot(relative * np.abs(scaled.y), scaled.resolution_y / _ROOT_12)
    if (u_y > 0.0).all():
        return u_y
    positive = np.abs(scaled.y)[scaled.y != 0.0]
    smallest = float(positive.min()) if positive.size else 1.0
    return np.where(u_y > 0.0, u_y, np.maximum(relative, 1e-6) * smallest)


def _zero_leverage(scaled: ScaledReadings) -> FloatArray:
    """How much more a gain error of the readout weighs in y than in the output: a live zero is read with it."""
    return np.divide(np.abs(scaled.output), np.abs(scaled.y), out=np.ones(len(scaled)), where=scaled.y != 0.0)


def _degrees_of_freedom(lines: tuple[BudgetLine, ...]) -> float:
    total = root_sum_squares(line.standard_uncertainty for line in lines)
    if total == 0.0:
        return math.inf
    inverse = math.fsum((line.standard_uncertainty / total) ** 4 / line.degrees_of_freedom for line in lines)
    return 1.0 / inverse if inverse else math.inf


def _equipment_remarks(case: Case, scaled: ScaledReadings) -> tuple[str, ...]:
    remarks = []
    if not case.references:
        remarks.append("visit.toml names no reference: the uncertainty of the reference level is not included")
    if not case.readouts:
        remarks.append("visit.toml names no readout: the uncertainty of its gain is not included")
    instruments: list[Reference | Readout] = [*case.references, *case.readouts]
    for item in instruments:
        if item.due < case.visit.date:
            remarks.append(f"{item.id} was overdue for calibration at the visit (due {item.due.isoformat()})")
        if item.calibrated > case.visit.date:
            remarks.append(f"{item.id} was calibrated after the visit ({item.calibrated.isoformat()})")
    remarks += _range_remarks(case.references, scaled)
    return tuple(remarks)


def _range_remarks(references: Sequence[Reference], scaled: ScaledReadings) -> list[str]:
    chosen = [(float(f), choose_reference(references, float(f))) for f in np.unique(scaled.frequency_hz[scaled.used])]
    outside = [(f, found.reference.id) for f, found in chosen if found is not None and not found.covers]
    remarks = []
    for name in dict.fromkeys(name for _, name in outside):
        hz = [f for f, of in outside if of == name]
        listed = ", ".join(f"{f:g}" for f in hz[:5]) + (" ..." if len(hz) > 5 else "")
        remarks.append(f"{name} was used outside its stated range (at {listed} Hz); the nearest range's value is taken")
    return remarks
