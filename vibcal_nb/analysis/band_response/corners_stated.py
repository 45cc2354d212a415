"""What may be stated of the two corners of a band, and why the rest may not."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from vibcal_nb.analysis.band_response.band_candidates import Candidates
from vibcal_nb.analysis.band_response.corner import BY_INTERPOLATION, BY_MODEL, Corner
from vibcal_nb.analysis.band_response.half_power import HALF_POWER, Crossing, HalfPower
from vibcal_nb.analysis.band_response.order_told import OrderTold, tell_orders
from vibcal_nb.metrology.uncertainty.coverage import Expanded, expand
from vibcal_nb.metrology.uncertainty.definitional import expand_about_two
from vibcal_nb.metrology.uncertainty.estimate import Estimate
from vibcal_nb.metrology.uncertainty.fitness import Fitness

SIDES = ("low", "high")
CORNERS_APART = 3.29  # standard uncertainties; 0.1 % both ways
NEWTON_STEPS = 4
LN_STEP = 1e-5
FLAT = 0.05  # slope of ln S in ln f below which nothing is crossed
FARTHEST = 0.2  # of ln S; a reference frequency that lies beside the band says nothing of its corners
STATED = ("hz", "source", "interval_hz", "order")


@dataclass(frozen=True, kw_only=True, eq=False)
class BandEvidence:
    """What corners are stated from: the candidates chosen, Butterworth filters alone, chi-squared, and no model at all.

    ``half`` is None, with ``why_no_half``, where the reference frequency was not read. ``is_butterworth``: the channel
    states a Butterworth filter and the readings accept it, so that its corner is half power of its plateau.
    """

    chosen: Candidates
    butterworth: Candidates
    fitness: Fitness
    half: HalfPower | None
    why_no_half: str | None
    is_butterworth: bool
    probability: float

    @cached_property
    def crossings(self) -> tuple[Crossing, Crossing]:
        """Where the readings pass half power without a model, low and high."""
        if self.half is None:
            return Crossing(why=self.why_no_half), Crossing(why=self.why_no_half)
        return self.half.crossings()

    @cached_property
    def corners_apart(self) -> str | None:
        """Say where the model passes half power elsewhere than the readings do; None where both agree.

        Both are interpolated between the same frequencies; what interpolation leaves open is allowed for all the same,
        as it may take another way between scattered readings.
        """
        if self.half is None:
            return None
        modelled = replace(self.half, ln_s=self.chosen.at(self.chosen.best, self.half.ln_f)[0]).crossings()
        for side, read, model in zip(SIDES, self.crossings, modelled, strict=True):
            if read.ln_f is None or model.ln_f is None:
                continue
            apart = model.ln_f - read.ln_f
            if abs(apart) > CORNERS_APART * read.u_scatter + read.half_width:
                off = 100.0 * abs(math.expm1(apart))
                return (
                    f"no band model describes the readings: the best passes half power {off:.2g} % off where they do "
                    f"on the {side}-frequency side"
                )
        return None


def state_corners(evidence: BandEvidence, inadequate: str | None) -> tuple[Corner, Corner]:
    """State both corners: by the model where it holds, else interpolated between the readings.

    ``inadequate`` says why the model does not hold.
    """
    if inadequate is not None:
        low, high = (_without_model(evidence, crossing, inadequate) for crossing in evidence.crossings)
        return low, high
    told = tell_orders(evidence.chosen, evidence.butterworth, evidence.fitness, probability=evidence.probability)
    low, high = (_by_model(evidence, side, told[side]) for side in (0, 1))
    return low, high


def _interpolated(crossing: Crossing, probability: float) -> Corner:
    if crossing.ln_f is None:
        return Corner(why=dict.fromkeys(("interpolated_hz", "interpolated_interval_hz"), crossing.why or ""))
    expanded = expand(crossing.u, probability=probability)
    return Corner(interpolated_hz=math.exp(crossing.ln_f), interpolated_interval_hz=_interval(crossing.ln_f, expanded))


def _interval(ln_f: float, expanded: Expanded) -> tuple[float, float]:
    return math.exp(ln_f - expanded.U), math.exp(ln_f + expanded.U)


def _unknown(corner: Corner, why: str) -> Corner:
    return replace(corner, damping=Estimate(why=why), why={**corner.why, **dict.fromkeys(STATED, why)})


def _without_model(evidence: BandEvidence, crossing: Crossing, inadequate: str) -> Corner:
    corner = _interpolated(crossing, evidence.probability)
    none = crossing.why or (None if evidence.half is None else evidence.half.why_no_plateau)
    if none is None and crossing.falls > 1:
        none = f"the readings fall to half power {crossing.falls} times on that side"
    if none is not None:
        return _unknown(corner, f"{inadequate}, and {none}")
    return replace(
        corner,
        hz=corner.interpolated_hz,
        interval_hz=corner.interpolated_interval_hz,
        expanded=expand(crossing.u, probability=evidence.probability),
        source=BY_INTERPOLATION,
        damping=Estimate(why=inadequate),
        why={**corner.why, "order": inadequate},
    )


def _by_model(evidence: BandEvidence, side: int, told: OrderTold) -> Corner:
    chosen, fitness = evidence.chosen, evidence.fitness
    corner = _interpolated(evidence.crossings[side], evidence.probability)
    why = next(_why_not_seen(side, chosen), None)
    if why is not None:
        return _unknown(corner, why)
    ln_f = float(chosen.parameters[chosen.best, 1 + side])
    apart = 0.0
    if evidence.half is not None and not evidence.is_butterworth:
        apart = _apart_by_reference(chosen, ln_f, evidence.half.ln_reference)
    u = math.sqrt(chosen.corner_variance(side) * fitness.widening)
    expanded = expand_about_two(u, apart, fitness.nu, probability=evidence.probability)
    return replace(
        corner,
        hz=math.exp(ln_f),
        interval_hz=_interval(ln_f + 0.5 * apart, expanded),
        expanded=expanded,
        source=BY_MODEL,
        order=told.order,
        damping=told.damping,
        why=corner.why if told.why is None else {**corner.why, "order": told.why},
    )


def _apart_by_reference(chosen: Candidates, ln_f: float, ln_reference: float) -> float:
    """How far, in ln f, half power of the response at the reference frequency lies from half power of the plateau."""
    level = float(chosen.at(chosen.best, np.array([ln_reference]))[0][0])
    if abs(level - float(chosen.parameters[chosen.best, 0])) > FARTHEST:
        return 0.0
    level, at = level + math.log(HALF_POWER), ln_f
    for _ in range(NEWTON_STEPS):
        here, beside = chosen.at(chosen.best, np.array([at, at + LN_STEP]))[0]
        slope = (beside - here) / LN_STEP
        if abs(slope) < FLAT:
            return 0.0
        at += float(np.clip((level - here) / slope, -0.1, 0.1))
    return at - ln_f


def _why_not_seen(side: int, chosen: Candidates) -> Iterator[str]:
    """Why a model that holds has no corner on a side that readings lie on both sides of."""
    name = SIDES[side]
    if chosen.degrees[chosen.best, side] == 0:
        yield f"the readings show no roll-off on the {name}-frequency side"
        return
    ln_s0, *corners = chosen.parameters[chosen.best, :3]
    ln_f, ln_s = chosen.swept.ln_f, chosen.swept.ln_s
    beyond = ln_f < corners[side] if side == 0 else ln_f > corners[side]
    below = ln_s < ln_s0 + math.log(HALF_POWER)
    if not bool(np.any(beyond & below)):
        yield f"no reading on the {name}-frequency side falls to half power (70.7 %) of the mid-band"
    if not bool(np.any(~beyond & ~below)):
        yield f"no reading lies above half power (70.7 %) of the mid-band beside the {name} corner"
