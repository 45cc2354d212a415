"""From equipment and readings to the uncertainty of each reading, in two classes kept apart.

*Common*: what all readings of a visit share (the reference's certificate and drift, the readout's gain). It
does not average down with more readings, and cancels in ratios and in non-linearity as far as it is one error (see
``certificate_error``). *Independent*: what differs from reading to reading (settling, noise, resolution). Sources: JCGM
100:2008, 4 and 5; ISO/TS 28037:2010, 8 on one readout for level and output, 9 and 10 on what a covariance between
readings does to a line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.analysis.readings.chosen_reference import ChosenReference, reference_at
from vibcal_nb.analysis.readings.contributions import (
    DISTORTION,
    READOUT_DRIFT_PCT_PER_YEAR,
    SETTLING,
    StatedContribution,
    drift_line,
    state_contributions,
)
from vibcal_nb.analysis.readings.errors.certificate_error import CertificateError, certificate_error
from vibcal_nb.analysis.readings.errors.distortion_error import DistortionError, distortion_error
from vibcal_nb.analysis.readings.errors.repeat_scatter import ROOT_12, RepeatScatter, pool_repeats, rounding_relative
from vibcal_nb.analysis.readings.errors.shaker_load import shaker_load
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings
from vibcal_nb.arrays import FloatArray, frozen
from vibcal_nb.metrology.uncertainty.budget_line import BudgetLine
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, root_sum_squares
from vibcal_nb.metrology.uncertainty.estimated_variance import KNOWN, EstimatedVariance
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.names import MODULE_ALONE
from vibcal_nb.units import convert, is_convertible

OF_THE_READOUT = ("readout gain", "readout drift")
T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadingUncertainty:
    """Standard uncertainties of ``readings``, and what they share.

    ``references`` are those that the level is known by, ``on`` the day of the visit. ``fixed`` are the common budget
    lines that are one error at all frequencies, in % of the sensitivity; ``by_frequency`` those that all levels at one
    frequency share, distortion left out, which is ``distortion``; ``independent`` those of a single reading, in %.
    ``u_x`` and ``u_y`` (n,) are the independent standard uncertainties in the units of ``readings.x`` and ``y``,
    resolution included. ``u_offset``, in the output unit, is what the readout may be off by at all readings alike.
    ``probability`` is the coverage probability that every U of the case is stated for.
    """

    readings: ScaledReadings
    references: tuple[Reference, ...]
    on: date
    fixed: tuple[BudgetLine, ...]
    by_frequency: tuple[BudgetLine, ...]
    distortion: DistortionError | None
    independent: tuple[BudgetLine, ...]
    u_x: FloatArray
    u_y: FloatArray
    zero_leverage: FloatArray
    u_readout_pct: float
    u_offset: float
    repeats: RepeatScatter
    degrees_of_freedom: float
    probability: float = PROBABILITY

    def at(self, chosen: NDArray[np.bool_]) -> ReadingUncertainty:
        """Return the uncertainty of the readings where ``chosen`` (shape (n,)) is True, sliced with them."""
        return replace(
            self,
            readings=self.readings.at(chosen),
            u_x=frozen(self.u_x[chosen]),
            u_y=frozen(self.u_y[chosen]),
            zero_leverage=frozen(self.zero_leverage[chosen]),
        )

    def reference_error(self, frequency_hz: float) -> CertificateError | None:
        """The error of the reference that counts at a frequency; None where none is named."""
        if frequency_hz not in self._errors:  # asked for at every reading, several times
            chosen = self.reference_at(frequency_hz)
            self._errors[frequency_hz] = None if chosen is None else certificate_error(chosen, frequency_hz, on=self.on)
        return self._errors[frequency_hz]

    def reference_at(self, frequency_hz: float) -> ChosenReference | None:
        """What a level at a frequency is known by; None where no reference is named."""
        return reference_at(self.references, self.readings.readings, frequency_hz)

    @cached_property
    def _errors(self) -> dict[float, CertificateError | None]:
        return {}

    def common(self, frequency_hz: float) -> tuple[BudgetLine, ...]:
        """The common budget lines at a frequency, in % of the sensitivity: the reference's, then ``fixed``."""
        error = self.reference_error(frequency_hz)
        return self.fixed if error is None else (*error.lines, *self.fixed)

    def shared_pct(self, frequency_hz: float) -> dict[str, float]:
        """Standard uncertainties that a reading at a frequency shares with others of the visit, in % by their source.

        Sources of one name are one error, whatever test a reading belongs to; together they make ``u_common_pct``.
        """
        error = self.reference_error(frequency_hz)
        shared = {line.name: line.standard_uncertainty for line in self.fixed}
        return shared if error is None else error.shared_pct | shared

    def u_common_pct(self, frequency_hz: float) -> float:
        """Standard uncertainty of the common part at a frequency, in %."""
        return root_sum_squares(line.standard_uncertainty for line in self.common(frequency_hz))

    def u_common_ratio_pct(self, frequency_hz: float, reference_hz: float) -> float:
        """What of the common part is left in the ratio of the sensitivities at two frequencies, in %."""
        error, other = self.reference_error(frequency_hz), self.reference_error(reference_hz)
        return 0.0 if error is None or other is None else error.ratio_pct(other)

    def u_own_frequency_pct(self, frequency_hz: float) -> float:
        """Standard uncertainty of what belongs to one frequency alone: ``at_frequency`` and the certificate's part."""
        error = self.reference_error(frequency_hz)
        return math.hypot(self.u_frequency_pct(frequency_hz), 0.0 if error is None else error.own_pct)

    def u_beside_pct(self, frequency_hz: float, reference_hz: float) -> float:
        """Standard uncertainty of what a frequency does not share with the reference frequency, in %."""
        error, other = self.reference_error(frequency_hz), self.reference_error(reference_hz)
        beside = 0.0 if error is None or other is None else error.beside_pct(other)
        return math.hypot(self.u_frequency_pct(frequency_hz), beside)

    def estimated_variance(self, groups: Sequence[NDArray[np.intp]]) -> EstimatedVariance:
        """How much of the variance of these readings' own part was pooled from repeats, ``groups`` among them."""
        nu, within = self.repeats.degrees_of_freedom, sum(len(group) - 1 for group in groups)
        if not self.repeats.tells:
            return KNOWN
        own = 100.0 * float(np.median(_own_relative(self.readings, self.u_x, self.u_y)))
        share = min((self.repeats.pooled_pct / own) ** 2, 1.0)
        return EstimatedVariance(within=within, elsewhere=nu - within, share=share)

    def at_frequency(self, frequency_hz: float) -> tuple[BudgetLine, ...]:
        """The budget lines that all levels at a frequency share and other frequencies do not, in %."""
        if self.distortion is None:
            return self.by_frequency
        return (*self.by_frequency, self.distortion.line(frequency_hz))

    def u_frequency_pct(self, frequency_hz: float) -> float:
        """Standard uncertainty of what the levels at a frequency share beside the certificate's error, in %."""
        return root_sum_squares(line.standard_uncertainty for line in self.at_frequency(frequency_hz))


def assess_readings(case: Case, scaled: ScaledReadings) -> ReadingUncertainty:
    """Derive the uncertainty of each reading from the certificates, the visit's edits and repeat readings."""
    stated = state_contributions(case.visit, load=shaker_load(case), electrical=case.test == MODULE_ALONE)
    common = [s for s in stated if s.line.kind == "common"]
    distortion = next((s for s in common if s.line.name == DISTORTION and not s.edited), None)
    repeats = pool_repeats(scaled)
    independent = _independent_lines(stated, repeats)
    readout = _readout_lines(case)
    return ReadingUncertainty(
        readings=scaled,
        references=case.references,
        on=case.visit.date,
        fixed=(*readout, *(s.line for s in common if not s.varies_with_frequency)),
        by_frequency=tuple(s.line for s in common if s.varies_with_frequency and s is not distortion),
        distortion=None if distortion is None else distortion_error(case, scaled, distortion.line),
        independent=independent,
        u_x=frozen(scaled.resolution_x / ROOT_12),
        u_y=frozen(_independent_u_y(scaled, _relative_independent(independent, scaled))),
        zero_leverage=frozen(_zero_leverage(scaled)),
        u_readout_pct=root_sum_squares(line.standard_uncertainty for line in readout),
        u_offset=readout_offset(case),
        repeats=repeats,
        degrees_of_freedom=_degrees_of_freedom(independent, scaled),
        probability=case.visit.decision.coverage_probability,
    )


def _largest(items: Sequence[T], *, key: Callable[[T], float]) -> T | None:
    """Where a visit names several readouts, no reading says which: the widest counts."""
    return max(items, key=key, default=None)


def readout_gain(case: Case) -> tuple[BudgetLine, Readout] | None:
    """Return the line of the readout's gain by its certificate, in %, and the readout; None where none is named."""
    readout = _largest(case.readouts, key=lambda item: item.expanded_pct / item.k)
    if readout is None:
        return None
    source = f"certificate of {readout.id}"
    line = BudgetLine(name=OF_THE_READOUT[0], value=readout.expanded_pct, k=readout.k, kind="common", source=source)
    return line, readout


def _readout_lines(case: Case) -> tuple[BudgetLine, ...]:
    found = readout_gain(case)
    if found is None:
        return ()
    gain, readout = found
    drift = drift_line(OF_THE_READOUT[1], readout, case.visit.date, usual=READOUT_DRIFT_PCT_PER_YEAR)
    if not _reads_both(case, readout):
        return gain, drift, *_reference_readout(case, gain)
    cancels = f"{readout.id} reads level and output, so that it cancels in their ratio"
    return replace(gain, value=0.0, source=cancels), replace(drift, value=0.0, source=cancels)


def _reference_readout(case: Case, gain: BudgetLine) -> Iterator[BudgetLine]:
    """The gain of what reads a reference's own output, where that is not known to cancel: by its certificate."""
    outputs = {reading.reference for reading in case.readings if reading.reference_output is not None}
    read_by = {item.read_by for item in case.references if item.id in outputs}
    named = [item for item in case.readouts if item.id in read_by]
    if outputs:
        widest = _largest(named, key=lambda item: item.expanded_pct / item.k)
        u = gain.standard_uncertainty if widest is None else widest.expanded_pct / widest.k
        whose = "the widest readout, for none is named in read_by" if widest is None else f"certificate of {widest.id}"
        yield BudgetLine(name="readout of the reference", value=u, k=1.0, kind="common", source=whose)


def _reads_both(case: Case, readout: Readout) -> bool:
    """Whether one readout reads the level and all that counts of the output: their errors are one.

    The covariance of level and output at a point, ISO/TS 28037:2010, clause 8. Of an output with a live zero more is
    read than counts, so that only a part would cancel: it is left in.
    """
    alone = len(case.readouts) == 1 and bool(case.references)
    return alone and case.output_zero == 0.0 and all(item.read_by == readout.id for item in case.references)


def readout_offset(case: Case) -> float:
    """Standard uncertainty of the readout's own zero, in the output unit; 0 where no certificate states one for it."""
    stated = [
        float(convert(item.offset.expanded, item.offset.unit, case.output_unit)) / item.k
        for item in case.readouts
        if item.offset is not None and is_convertible(item.offset.unit, case.output_unit)
    ]
    return max(stated, default=0.0)


def _independent_lines(stated: tuple[StatedContribution, ...], repeats: RepeatScatter) -> tuple[BudgetLine, ...]:
    """The scatter of repeats replaces the judgement on settling where there are enough of them."""
    lines = [s.line for s in stated if s.line.kind == "independent"]
    if not repeats.tells:
        return tuple(lines)
    rounded = " less what the display rounds" if repeats.rounding_pct else ""
    measured = BudgetLine(
        name=SETTLING,
        value=repeats.settling_pct,
        kind="independent",
        degrees_of_freedom=repeats.settling_degrees_of_freedom,
        source=f"pooled scatter of the repeat readings{rounded}, {repeats.degrees_of_freedom} degrees of freedom "
        "(type A)",
    )
    # Cable strain moves the repeats as well: it is in their scatter and must not count twice.
    return tuple([measured] + [line for line in lines if line.name not in (SETTLING, "cable strain")])


def _relative_independent(lines: tuple[BudgetLine, ...], scaled: ScaledReadings) -> FloatArray:
    """Relative u of each reading's own part, shape (n,): what was determined with a reading replaces settling."""
    usual = root_sum_squares(line.standard_uncertainty for line in lines)
    rest = root_sum_squares(line.standard_uncertainty for line in lines if line.name != SETTLING)
    own = [usual if r.u_pct is None else math.hypot(r.u_pct, rest) for r in scaled.readings]
    return np.array(own) / 100.0


def _independent_u_y(scaled: ScaledReadings, relative: FloatArray) -> FloatArray:
    u_y = np.hypot(relative * np.abs(scaled.y), scaled.resolution_y / ROOT_12)
    if (u_y > 0.0).all():
        return u_y
    positive = np.abs(scaled.y)[scaled.y != 0.0]
    smallest = float(positive.min()) if positive.size else 1.0
    return np.where(u_y > 0.0, u_y, np.maximum(relative, 1e-6) * smallest)


def _own_relative(scaled: ScaledReadings, u_x: FloatArray, u_y: FloatArray) -> FloatArray:
    """Relative standard uncertainty of output over level that is each used reading's own, those with both."""
    chosen = scaled.used & (scaled.x > 0.0) & (scaled.y != 0.0)
    return np.hypot(u_x[chosen] / scaled.x[chosen], u_y[chosen] / scaled.y[chosen])


def _zero_leverage(scaled: ScaledReadings) -> FloatArray:
    """How much more a gain error of the readout weighs in y than in the output: a live zero is read with it."""
    return np.divide(np.abs(scaled.output), np.abs(scaled.y), out=np.ones(len(scaled)), where=scaled.y != 0.0)


def _degrees_of_freedom(lines: tuple[BudgetLine, ...], scaled: ScaledReadings) -> float:
    """Those of a usual reading's own part, rounding included, which is known exactly (Welch-Satterthwaite)."""
    used = scaled.used & (scaled.x > 0.0)
    rounding = 100.0 * float(np.median(rounding_relative(scaled)[used])) if used.any() else 0.0
    total = math.hypot(root_sum_squares(line.standard_uncertainty for line in lines), rounding)
    if total == 0.0:
        return math.inf
    inverse = math.fsum((line.standard_uncertainty / total) ** 4 / line.degrees_of_freedom for line in lines)
    return 1.0 / inverse if inverse else math.inf
