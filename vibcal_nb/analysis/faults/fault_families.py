"""The families of faults: which parameters of the chain they move, how far they may be expected to move them.

A family is a set of variants; a variant fixes some parameters, and expects others around a centre with a spread (a
normal distribution), on top of what every healthy channel may have. The spreads are judgement, no source: they say
what size of fault is plausible, and with that what a small deviation is worth as evidence. A fault is what shows: the
centres lie where a limit is passed, or a deviation that healthy channels have as well would be called half a fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from vibcal_nb.analysis.faults.chain_model import NO_LIMIT, OFF, Points
from vibcal_nb.units import G_N, INCH

Prior = tuple[float, float]
HEALTHY = "healthy"
NONE_OF_THESE = "none of these"


@dataclass(frozen=True, kw_only=True)
class Variant:
    """One way in which a family shows: ``expected`` (centre, spread) by parameter, ``fixed`` values by parameter.

    ``starts`` are centres from which a fit begins, by parameter; ``scatter`` is a relative standard deviation of
    readings at low frequency that no parameter predicts; ``unsteady`` is the standard deviation with which what is
    added to the signal comes and goes, relative to it; ``share`` is the variant's part of its family's weight.
    """

    expected: Mapping[str, Prior] = field(default_factory=dict)
    fixed: Mapping[str, float] = field(default_factory=dict)
    starts: tuple[Mapping[str, float], ...] = ({},)
    scatter: float = 0.0
    unsteady: float = 0.0
    share: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Family:
    """A family of faults; ``part`` is where it sits, ``variants`` how it shows."""

    name: str
    part: str
    variants: tuple[Variant, ...]


def healthy_expectation(points: Points, *, tolerance: float) -> dict[str, Prior]:
    """What a channel without a fault may differ from nominal by: centre and spread of each free parameter."""
    expected = {
        "sensor_gain": (0.0, 0.25 * tolerance),
        "module_gain": (0.0, 0.2 * tolerance),
        "resonance": (math.log(12.0), 0.6),
        "decade_slope": (-0.002, 0.004),
        "noise": (math.log(4e-4), 0.6),
    }
    for side, corner in (("low", points.corner_low_hz), ("high", points.corner_high_hz)):
        if corner is not None:
            expected |= {f"corner_{side}": (0.0, 0.025), f"order_{side}": (math.log(2.2), 0.4)}
    return expected


REST: Mapping[str, float] = {"clip": NO_LIMIT, "pickup": OFF, "leak": OFF}
"""Where parameters rest that no variant moves; the others rest at 0, or have no effect while these do."""


def fault_families(points: Points, *, is_velocity: bool) -> tuple[Family, ...]:
    """Return healthy and every family that this channel can have.

    A wrong corner needs a stated corner. ``is_velocity`` tells which way a wrong integration tilts the response.
    """
    low, high = points.corner_low_hz is not None, points.corner_high_hz is not None
    return (
        Family(name=HEALTHY, part="nowhere", variants=(Variant(),)),
        Family(name="module gain", part="module", variants=tuple(_gain("module_gain", (0.2, 0.12), (-0.25, 0.15)))),
        Family(name="sensor lost sensitivity", part="sensor", variants=tuple(_gain("sensor_gain", (-0.22, 0.14)))),
        Family(name="open leg", part="cable", variants=tuple(_open_leg())),
        Family(name="detector mix-up", part="settings", variants=tuple(_mixups((2**0.5, 2.0, 8**0.5)))),
        Family(name="unit mix-up", part="settings", variants=tuple(_mixups((G_N, 1000.0 * INCH)))),
        Family(name="mains pick-up", part="cable", variants=tuple(_pickup())),
        Family(name="noise floor", part="module", variants=(_noise(),)),
        Family(name="saturation", part="module", variants=tuple(_saturation())),
        Family(name="loose mounting", part="mounting", variants=tuple(_loose())),
        Family(name="leak", part="cable", variants=tuple(_leak())),
        *([Family(name="wrong filter", part="settings", variants=tuple(_filters(low, high)))] if low or high else []),
        Family(name="wrong integration", part="settings", variants=(_integration(1.0 if is_velocity else -1.0),)),
        Family(name="cracked element", part="sensor", variants=tuple(_cracked())),
        Family(name="cable strain", part="mounting", variants=tuple(_strain())),
    )


def _gain(parameter: str, *sizes: Prior) -> Iterator[Variant]:
    for centre, spread in sizes:
        starts = tuple({parameter: math.copysign(size, centre)} for size in (0.1, 0.25, 0.6))
        yield Variant(expected={parameter: (centre, spread)}, starts=starts, share=1.0 / len(sizes))


def _open_leg() -> Iterator[Variant]:
    """Half the signal is lost: seen by every test, or by the channel's alone where the leg is open at the module."""
    for parameter in ("sensor_gain", "module_gain"):
        yield Variant(expected={parameter: (math.log(0.5), 0.03)}, share=0.5)


def _mixups(factors: tuple[float, ...]) -> Iterator[Variant]:
    """A factor in all tests of the channel, in all tests, or in one test alone, where it was written down wrong."""
    names = ("factor_linearity", "factor_band", "factor_sensor")
    targets = {(1, 1, 0): 0.4, (1, 1, 1): 0.3, (0, 0, 1): 0.1, (1, 0, 0): 0.1, (0, 1, 0): 0.1}
    for factor in factors:
        for sign in (1.0, -1.0):
            for target, share in targets.items():
                fixed = {name: sign * math.log(factor) * hit for name, hit in zip(names, target, strict=True)}
                yield Variant(fixed=fixed, share=share / (2.0 * len(factors)))


def _pickup() -> Iterator[Variant]:
    expected = {"pickup": (math.log(0.03), 0.8), "pickup_width": (math.log(2.5), 0.5), "harmonics": (0.2, 0.15)}
    starts = tuple({"pickup": math.log(size)} for size in (0.006, 0.02, 0.06))
    for mains in (50.0, 60.0):  # near mains it beats with the signal: a slow beat hardly averages (0.7 if not at all)
        for unsteady in (0.05, 0.25, 0.6):
            yield Variant(expected=expected, fixed={"mains": mains}, starts=starts, unsteady=unsteady, share=0.8 / 6)
    wide = {"pickup": (math.log(0.03), 0.8)}
    yield Variant(expected=wide, fixed={"pickup_everywhere": 1.0}, starts=starts, unsteady=0.05, share=0.2)


def _noise() -> Variant:
    starts = ({"noise": math.log(0.005)}, {"noise": math.log(0.03)})
    return Variant(expected={"noise": (math.log(0.03), 0.8)}, starts=starts, unsteady=0.05)


def _saturation() -> Iterator[Variant]:
    starts = tuple({"clip": math.log(level)} for level in (0.15, 0.35, 0.55, 0.75))
    for kind, share in ((0.0, 0.5), (1.0, 0.25), (2.0, 0.25)):
        yield Variant(expected={"clip": (math.log(0.45), 0.4)}, fixed={"clip_kind": kind}, starts=starts, share=share)


def _loose() -> Iterator[Variant]:
    moving = {"looseness": (0.0, 0.2), "hysteresis": (0.0, 0.03)}
    low_resonance = {"resonance": (math.log(2.0), 0.5)}
    starts = tuple({"resonance": math.log(ratio)} for ratio in (1.2, 2.0, 3.5))
    yield Variant(expected=moving | low_resonance, starts=starts, share=0.6)
    yield Variant(expected=moving, share=0.2)
    yield Variant(expected=low_resonance, starts=starts, share=0.2)


def _leak() -> Iterator[Variant]:
    starts = ({"leak": -0.7}, {"leak": 0.5})
    for seen, share in ((1.0, 0.75), (0.0, 0.25)):
        yield Variant(expected={"leak": (0.2, 0.7)}, fixed={"leak_in_sensor": seen}, starts=starts, share=share)


def _filters(low: bool, high: bool) -> Iterator[Variant]:
    """A corner elsewhere, or a filter that is not there."""
    for side, present, beyond in (("low", low, -5.0), ("high", high, 5.0)):
        if present:
            for sign in (-1.0, 1.0):
                expected = {f"corner_{side}": (0.4 * sign, 0.25)}
                yield Variant(expected=expected, starts=({}, {f"corner_{side}": 0.2 * sign}), share=0.35 / 2.0)
            yield Variant(fixed={f"corner_{side}": beyond}, share=0.15)


def _integration(exponent: float) -> Variant:
    starts = tuple({"right_at": value} for value in (-0.7, 0.0, 0.7))
    return Variant(expected={"right_at": (0.0, 0.7)}, fixed={"slope_exponent": exponent}, starts=starts)


def _cracked() -> Iterator[Variant]:
    starts = tuple({"resonance": math.log(ratio)} for ratio in (1.5, 3.0))
    yield Variant(expected={"sensor_gain": (-0.25, 0.15), "resonance": (math.log(2.5), 0.5)}, starts=starts, share=0.8)
    yield Variant(expected={"sensor_gain": (-0.25, 0.15)}, share=0.2)


SCATTERS = (0.008, 0.015, 0.03, 0.06, 0.12)


def _strain() -> Iterator[Variant]:
    for scatter in SCATTERS:
        yield Variant(expected={"hysteresis": (0.0, 0.03)}, scatter=scatter, share=1.0 / len(SCATTERS))
