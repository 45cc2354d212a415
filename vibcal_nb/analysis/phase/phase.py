"""What phases over frequency show, and how that keeps to what a channel states.

Polarity and delay by the line through the phases (``metrology.sine.phase_line``): it meets 0 Hz at 0 degrees, or at 180
where the part is reversed, and falls by 360 degrees times the delay.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.judged_quantity import JudgedQuantity, judge_quantity
from vibcal_nb.analysis.phase.known_lead import KnownLead
from vibcal_nb.analysis.phase.phase_readings import PhaseReadings, phase_readings
from vibcal_nb.analysis.readings.grouping import at_frequency, lies_within
from vibcal_nb.metrology.conformity.decision import FAILING, Decision, DecisionRule
from vibcal_nb.metrology.sine.phase_line import FEWEST, PhaseError, PhaseLine, fit_phase_line, wrapped
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.model.asset import PhaseLimit, PhaseSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import POLARITIES
from vibcal_nb.model.readings import Reading

NO_PHASE = "no phase was read"
POLARITY, DELAY = "polarity", "delay"
_MEETS = dict(zip(POLARITIES, (0.0, 180.0), strict=True))
_QUARTER = 90.0


@dataclass(frozen=True, kw_only=True)
class PhasePoint:
    """A reading's phase in degrees, against the part's own input quantity, with U, and how far it lies off the line.

    ``off_line_deg`` is None where there is no line, or the reading is excluded.
    """

    reading: Reading
    phase_deg: float
    expanded: Expanded
    off_line_deg: float | None


@dataclass(frozen=True, kw_only=True, eq=False)
class PhaseResult:
    """What the phases of one test show; ``line`` is None where none can be drawn.

    ``specification`` is what is judged, empty where nothing is; ``of_channel`` says that the sensor alone is judged by
    the channel's polarity. ``intercept_deg`` and ``delay_ms`` are of the line, ``polarity`` one of ``names.POLARITIES``
    or None. ``lead`` is the known one of a second-order sensor, which the line
    leaves out. ``judged`` holds polarity, delay and limits as far as they are stated; ``gaps`` what could not be.
    ``undetermined`` says why a quantity is None, by its key among the quantities of a result.
    """

    specification: PhaseSpecification
    of_channel: bool
    points: tuple[PhasePoint, ...]
    line: PhaseLine | None
    polarity: str | None
    intercept_deg: Estimate
    delay_ms: Estimate
    judged: tuple[JudgedQuantity, ...]
    gaps: tuple[str, ...]
    undetermined: Mapping[str, str]
    lead: KnownLead | None = None

    def line_at(self, frequency_hz: float) -> float | None:
        """The phase that the line gives at a frequency in degrees, with the known lead; None without a line."""
        if self.line is None:
            return None
        return self.line.at(frequency_hz)[0] + _lead_at(self.lead, frequency_hz)

    @property
    def decisions(self) -> Iterator[tuple[str, Decision, str]]:
        """The decisions, each by its name, with its unit."""
        for item in self.judged:
            if item.decision is not None:
                yield (item.name if item.name == POLARITY else f"phase: {item.name}", item.decision, item.unit)

    @property
    def limits(self) -> tuple[JudgedQuantity, ...]:
        """The judged limits at single frequencies, in the order in which they are stated."""
        return tuple(item for item in self.judged if item.name not in (POLARITY, DELAY))

    @property
    def is_reversed(self) -> bool:
        """Whether the polarity is judged, and is the other one."""
        of_polarity = (item.decision for item in self.judged if item.name == POLARITY)
        return any(decision is not None and decision.verdict in FAILING for decision in of_polarity)


def assess_phase(
    case: Case,
    stated: PhaseSpecification | None,
    rule: DecisionRule,
    *,
    probability: float,
    of_channel: bool = False,
    lead: KnownLead | None = None,
) -> PhaseResult | None:
    """Return what the phases of a case show; None where none was read and none is stated.

    ``lead`` is that of a second-order sensor, known by its magnitudes, which the line leaves out.
    """
    read = phase_readings(case, lead=lead)
    if not len(read) and (stated is None or of_channel):
        return None
    specification = PhaseSpecification() if stated is None else stated
    line, why = _line(read, probability)
    polarity, intercept, delay, reasons = _of_line(line, why)
    judged = tuple(_judge(specification, read, line, intercept, delay, polarity, rule, reasons, probability))
    gaps = () if of_channel else tuple(_gaps(judged, read))
    return PhaseResult(
        specification=specification,
        of_channel=of_channel,
        points=tuple(_points(read, line, probability)),
        line=line,
        polarity=polarity,
        intercept_deg=intercept,
        delay_ms=delay,
        judged=judged,
        gaps=gaps,
        undetermined=reasons,
        lead=lead,
    )


def reasons_of(phase: PhaseResult | None) -> dict[str, str]:
    """Return why quantities of a result's phase are null, by their key among the quantities of the result."""
    if phase is None or not phase.points:
        return {"phase": NO_PHASE}
    return {f"phase.{name}": why for name, why in phase.undetermined.items()}


def _line(read: PhaseReadings, probability: float) -> tuple[PhaseLine | None, str]:
    used = read.used
    if not used.any():
        return None, NO_PHASE
    try:
        errors = read.errors.at(used)
        rest = (read.phase_deg - read.lead_deg)[used]
        return fit_phase_line(read.frequency_hz[used], rest, errors, probability=probability), ""
    except PhaseError as error:
        return None, str(error)


def _of_line(line: PhaseLine | None, why: str) -> tuple[str | None, Estimate, Estimate, dict[str, str]]:
    """Polarity, intercept and delay, and why any of them is None, by its key."""
    if line is None:
        missing = Estimate(why=why)
        return None, missing, missing, dict.fromkeys((POLARITY, "intercept_deg", "delay_ms"), why)
    meets, reasons = line.expanded_intercept_deg, {}
    intercept = Estimate(
        value=line.intercept_deg,
        expanded=meets,
        interval=(line.intercept_deg - meets.U, line.intercept_deg + meets.U),
    )
    polarity = _polarity(line)
    if polarity is None:
        reasons[POLARITY] = (
            f"the line through the phases meets 0 Hz at {line.intercept_deg:.0f} ± {meets.U:.0f} degrees, which is "
            "neither 0 nor 180"
        )
    if line.holds:
        ms, u = 1e3 * line.delay_s, line.expanded_delay_s.times(1e3)
        return polarity, intercept, Estimate(value=ms, expanded=u, interval=(ms - u.U, ms + u.U)), reasons
    reasons["delay_ms"] = f"the phases lie {line.rms_residual_deg:.0f} degrees (rms) off the best line over frequency"
    return polarity, intercept, Estimate(why=reasons["delay_ms"]), reasons


def _polarity(line: PhaseLine) -> str | None:
    """The polarity whose angle lies within a quarter of a turn of the intercept, U included; None where neither."""
    U = line.expanded_intercept_deg.U
    near = (word for word, deg in _MEETS.items() if abs(wrapped(line.intercept_deg - deg)) + U < _QUARTER)
    return next(near, None)


def _judge(
    stated: PhaseSpecification,
    read: PhaseReadings,
    line: PhaseLine | None,
    intercept: Estimate,
    delay: Estimate,
    polarity: str | None,
    rule: DecisionRule,
    reasons: Mapping[str, str],
    probability: float,
) -> Iterator[JudgedQuantity]:
    if stated.polarity is not None:
        away = Estimate(why=reasons.get(POLARITY))
        if polarity is not None and intercept.value is not None:
            away = Estimate(value=wrapped(intercept.value - _MEETS[stated.polarity]), expanded=intercept.expanded)
        yield judge_quantity(POLARITY, "°", (-_QUARTER, _QUARTER), away, rule)
    if stated.delay_ms is not None:
        yield judge_quantity(DELAY, "ms", stated.delay_ms, delay, rule)
    for limit in stated.limits:
        estimate = _phase_at(limit, read, line, probability)
        limits = (limit.min_deg, limit.max_deg)
        yield judge_quantity(f"at {limit.frequency_hz:g} Hz", "°", limits, estimate, rule)


def _phase_at(limit: PhaseLimit, read: PhaseReadings, line: PhaseLine | None, probability: float) -> Estimate:
    """The phase at a limit's frequency, whole turns taken so that it lies nearest to the middle of the limits."""
    near = at_frequency(read.frequency_hz, limit.frequency_hz) & read.used if len(read) else np.zeros(0, dtype=bool)
    middle = 0.5 * (limit.min_deg + limit.max_deg)
    if near.any():
        deg, expanded = _mean(read, near, probability)
    elif line is not None and line.holds and _between(read, limit.frequency_hz):
        deg, expanded = line.at(limit.frequency_hz)
        deg += _lead_at(read.lead, limit.frequency_hz)
    else:
        return Estimate(why=f"no phase was read at {limit.frequency_hz:g} Hz")
    return Estimate(value=middle + wrapped(deg - middle), expanded=expanded)


def _lead_at(lead: KnownLead | None, frequency_hz: float) -> float:
    return 0.0 if lead is None else float(lead.at(np.array([frequency_hz]))[0])


def _mean(read: PhaseReadings, near: np.ndarray, probability: float) -> tuple[float, Expanded]:
    """The mean of phases at one frequency, with their common errors."""
    phases, errors = read.phase_deg[near], read.errors.at(near)
    first = float(phases[0])
    deg = first + float(np.mean([wrapped(float(phase) - first) for phase in phases]))
    return deg, expand(math.sqrt(float(errors.covariance.mean())), probability=probability)


def _between(read: PhaseReadings, frequency_hz: float) -> bool:
    used = read.frequency_hz[read.used]
    return bool(lies_within(frequency_hz, float(used.min()), float(used.max())))


def _gaps(judged: Iterable[JudgedQuantity], read: PhaseReadings) -> Iterator[str]:
    missing = [item for item in judged if item.decision is None]
    if not read.used.any() and missing:
        yield f"{NO_PHASE}: read it at {FEWEST} frequencies or more"
        return
    for item in missing:
        yield f"{item.name if item.name == POLARITY else f'phase, {item.name}'}: {item.estimate.why}"


def _points(read: PhaseReadings, line: PhaseLine | None, probability: float) -> Iterator[PhasePoint]:
    u = read.errors.u if len(read) else np.zeros(0)
    for i, reading in enumerate(read.readings):
        deg = float(read.phase_deg[i])
        off = (
            None
            if line is None or not read.used[i]
            else wrapped(deg - read.lead_deg[i] - line.at(reading.frequency_hz)[0])
        )
        yield PhasePoint(
            reading=reading,
            phase_deg=deg,
            expanded=expand(float(u[i]), probability=probability),
            off_line_deg=off,
        )
