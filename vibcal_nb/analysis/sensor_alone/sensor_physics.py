"""What a sensor's fit shows of its physics, each quantity with its interval or with the reason why it is not known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from vibcal_nb.analysis.sensor_alone.low_end import KINDS, UNKNOWN
from vibcal_nb.analysis.sensor_alone.sensor_candidates import (
    DAMPED,
    DAMPING,
    DROOP,
    FALL,
    HIGHEST,
    LOWEST,
    NATURAL,
    RISE,
    SensorCandidates,
    Terms,
)
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.metrology.uncertainty.fitness import Fitness

LEAST_QUALITY = 3.0  # of a resonance that nothing shows the damping of (judgement, no source)
NOT_APART = (
    "the readings show a droop towards low frequencies and do not tell a leak (6 dB an octave) from a second-order "
    "sensor (12 dB)"
)
WORDS = {
    "resonance": ("rise", "rise towards a resonance"),
    "quality": ("damping", "damping of a resonance"),
    "leak": ("droop", "droop towards low frequencies"),
    "natural_frequency": ("second order", "droop of second order"),
    "damping_ratio": ("second order", "droop of second order"),
    "fall": ("fall", "steady fall per decade"),
}


OPEN = "the readings show a second-order droop, and not enough of it to tell {}: read at lower frequencies"
WIDEST = 0.5  # U of a natural frequency or a damping ratio, as a share of it, beyond which nothing is told


@dataclass(frozen=True, kw_only=True)
class Physics:
    """What a sensor's response shows of its physics.

    ``resonance`` in Hz and its ``quality`` Q; ``leak``, the corner in Hz of a first-order droop; ``natural_frequency``
    in Hz and ``damping_ratio`` of a second-order sensor; ``fall`` in % per decade.
    """

    resonance: Estimate
    quality: Estimate
    leak: Estimate
    natural_frequency: Estimate
    damping_ratio: Estimate
    fall: Estimate

    def reasons(self) -> dict[str, str]:
        """Why quantities are unknown, by their names here."""
        found = ((field.name, getattr(self, field.name).why) for field in fields(self))
        return {name: why for name, why in found if why is not None}


@dataclass(frozen=True, kw_only=True, eq=False)
class SensorEvidence:
    """What the physics is stated from: the ``best`` of the choices ``found``, at frequencies ``f`` (n,).

    ``asked`` are the terms that were allowed, ``most`` the parameters that the readings carry beside the level;
    ``low_end`` is the kind that was told; ``inadequate`` says why no choice describes the readings.
    """

    found: SensorCandidates
    f: FloatArray
    asked: Sequence[str]
    most: int
    low_end: str
    inadequate: str | None
    fitness: Fitness
    probability: float

    @property
    def terms(self) -> Terms:
        """The terms of the best choice."""
        return self.found.terms[self.found.best]

    def value(self, column: int) -> float:
        """A parameter of the best choice."""
        return float(self.found.parameters[self.found.best, column])

    def u(self, column: int) -> float:
        """Its standard uncertainty, widened as the fitness asks."""
        return math.sqrt(float(self.found.covariances[self.found.best, column, column]) * self.fitness.widening)

    def expand(self, u: float) -> Expanded:
        """Expand a standard uncertainty that follows from the fit."""
        return expand(u, self.fitness.nu, probability=self.probability)

    def why_not(self, quantity: str) -> str | None:
        """Why a quantity is not stated; None where its term is shown."""
        term, words = WORDS[quantity]
        reasons = (
            (term not in self.asked, f"a {words} was not asked for"),
            (self.inadequate is not None, self.inadequate),
            (self.low_end == UNKNOWN and term in KINDS, NOT_APART),
            (term in self.terms, None),
            (self.most == 0, f"{self.f.size} readings are too few to show a {words}"),
            (
                self.low_end in KINDS.values() and term in KINDS,
                f"the droop to low frequencies is of {self.low_end}",
            ),
        )
        return next((why for applies, why in reasons if applies), f"the readings show no significant {words}")


def state_physics(evidence: SensorEvidence) -> Physics:
    """State what the best choice of terms shows."""
    state = {
        "resonance": _resonance,
        "quality": _quality,
        "leak": _leak,
        "natural_frequency": _natural_frequency,
        "damping_ratio": _damping_ratio,
        "fall": _fall,
    }
    whys = {quantity: evidence.why_not(quantity) for quantity in WORDS}
    return Physics(**{name: state[name](evidence) if why is None else Estimate(why=why) for name, why in whys.items()})


def _at(evidence: SensorEvidence, value: float, u_ln: float) -> Estimate:
    """A positive quantity with the standard uncertainty ``u_ln`` of its logarithm; its interval is symmetric there."""
    expanded = evidence.expand(u_ln)
    spread = math.exp(expanded.U)
    return Estimate(value=value, interval=(value / spread, value * spread), expanded=expanded.times(value))


def _plain(evidence: SensorEvidence, value: float, u: float) -> Estimate:
    expanded = evidence.expand(u)
    return Estimate(value=value, interval=(value - expanded.U, value + expanded.U), expanded=expanded)


def _resonance(evidence: SensorEvidence) -> Estimate:
    """The mounted resonance; without a damping that shows, down to where a damped one would lie."""
    rise = evidence.value(RISE)
    stated = _at(evidence, float(evidence.f.max()) / math.sqrt(rise), 0.5 * evidence.u(RISE) / rise)
    if "damping" in evidence.terms or stated.interval is None:
        return stated
    low, high = stated.interval
    return replace(stated, interval=(low * _damped_ratio(evidence, rise), high))


def _damped_ratio(evidence: SensorEvidence, rise: float) -> float:
    """How far below an undamped resonance one with the largest damping lies that the readings leave room for."""
    found, largest = evidence.found, 1.0 / LEAST_QUALITY**2
    other = found.index(("rise", "damping", *evidence.terms[1:]))
    u = 0.0 if other is None else math.sqrt(max(float(found.covariances[other, DAMPING, DAMPING]), 0.0))
    if other is None or u == 0.0:
        return math.sqrt(1.0 - 0.5 * largest)
    best = float(found.parameters[other, DAMPING])
    damping = min(largest, best + evidence.expand(u * math.sqrt(evidence.fitness.widening)).U)
    moved = float(found.covariances[other, RISE, DAMPING]) / u**2 * (damping - best)
    return math.sqrt(rise / max(float(found.parameters[other, RISE]) + moved, rise))


def _quality(evidence: SensorEvidence) -> Estimate:
    damping = evidence.value(DAMPING)
    return _at(evidence, 1.0 / math.sqrt(damping), 0.5 * evidence.u(DAMPING) / damping)


def _leak(evidence: SensorEvidence) -> Estimate:
    droop = evidence.value(DROOP)
    return _at(evidence, float(evidence.f.min()) * math.sqrt(droop), 0.5 * evidence.u(DROOP) / droop)


def _natural_frequency(evidence: SensorEvidence) -> Estimate:
    natural = evidence.value(NATURAL)
    u_ln = 0.5 * evidence.u(NATURAL) / natural
    if evidence.expand(u_ln).U > WIDEST or not _damping_is_within(evidence):
        return Estimate(why=OPEN.format("its natural frequency"))
    return _at(evidence, float(evidence.f.min()) * math.sqrt(natural), u_ln)


def _damping_ratio(evidence: SensorEvidence) -> Estimate:
    ratio = 0.5 * math.sqrt(evidence.value(DAMPED))
    u = evidence.u(DAMPED) / (8.0 * ratio)
    if WIDEST * ratio < evidence.expand(u).U or not _damping_is_within(evidence):
        return Estimate(why=OPEN.format("its damping ratio"))
    return _plain(evidence, ratio, u)


def _damping_is_within(evidence: SensorEvidence) -> bool:
    return bool(LOWEST[DAMPED] < evidence.value(DAMPED) < HIGHEST[DAMPED])


def _fall(evidence: SensorEvidence) -> Estimate:
    return _plain(evidence, 100.0 * evidence.value(FALL), 100.0 * evidence.u(FALL))
