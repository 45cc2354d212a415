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
INTERMITTENT = "intermittent contact"
DEAD = "dead or stuck output"
LOST = 99.0
"""Key of the covariance in which readings that stand below all others count for next to nothing."""


@dataclass(frozen=True, kw_only=True)
class Variant:
    """One way in which a family shows: ``expected`` (centre, spread) by parameter, ``fixed`` values by parameter.

    ``starts`` are centres from which a fit begins, by parameter; ``scatter`` is a relative standard deviation of
    readings at low frequency that no parameter predicts; ``unsteady`` is the standard deviation with which what is
    added to the signal comes and goes, relative to it; ``share`` is the variant's part of its family's weight;
    ``lost`` is True where single readings say nothing but that the contact was lost.
    """

    expected: Mapping[str, Prior] = field(default_factory=dict)
    fixed: Mapping[str, float] = field(default_factory=dict)
    starts: tuple[Mapping[str, float], ...] = ({},)
    scatter: float = 0.0
    unsteady: float = 0.0
    share: float = 1.0
    lost: bool = False

    @property
    def weighting(self) -> float:
        """The key of the covariance that readings are weighted with."""
        return LOST if self.lost else self.scatter


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


@dataclass(frozen=True, kw_only=True)
class ChannelKind:
    """What a channel is, as far as faults hang on it: velocity shown, a dc output, a two-wire loop."""

    is_velocity: bool
    is_dc: bool = False
    is_loop: bool = False


def fault_families(points: Points, kind: ChannelKind) -> tuple[Family, ...]:
    """Return healthy and every family that this channel can have and that its own starts find.

    A wrong corner needs a stated corner. A loop has no leg that opens; only a dc output has a zero. ``is_velocity``
    tells which way a wrong integration tilts the response.
    """
    low, high = points.corner_low_hz is not None, points.corner_high_hz is not None
    wide = ((0.0, 0.9),)
    families = [
        Family(name=HEALTHY, part="nowhere", variants=(Variant(),)),
        Family(name="module gain", part="module", variants=_gain("module_gain", ((0.2, 0.12), (-0.25, 0.15)), wide)),
        Family(name="sensor lost sensitivity", part="sensor", variants=_gain("sensor_gain", ((-0.22, 0.14),), _LOSS)),
        Family(name="another sensor", part="sensor", variants=tuple(_steps("sensor_gain"))),
        Family(name="range step", part="settings", variants=tuple(_steps("module_gain"))),
        Family(name="detector mix-up", part="settings", variants=tuple(_mixups((2**0.5, 2.0, 8**0.5)))),
        Family(name="unit mix-up", part="settings", variants=tuple(_mixups((G_N, 1000.0 * INCH)))),
        Family(name="mains pick-up", part="cable", variants=tuple(_pickup())),
        Family(name="noise floor", part="module", variants=tuple(_noise())),
        Family(name=DEAD, part="cable, module", variants=tuple(_dead(kind.is_dc))),
        Family(name="saturation", part="module", variants=tuple(_saturation(kind.is_dc))),
        Family(name="loose mounting", part="mounting", variants=tuple(_loose())),
        Family(name="leak", part="cable", variants=tuple(_leak())),
        Family(name="wrong integration", part="settings", variants=(_integration(1.0 if kind.is_velocity else -1.0),)),
        Family(name="cracked element", part="sensor", variants=tuple(_cracked())),
        Family(name="cable strain", part="mounting", variants=tuple(_strain())),
    ]
    if not kind.is_loop:
        families.append(Family(name="open leg", part="cable", variants=tuple(_open_leg())))
    if kind.is_dc:
        families.append(Family(name="zero shift", part="module", variants=(_zero(),)))
    if low or high:
        families.append(Family(name="wrong filter", part="settings", variants=tuple(_filters(low, high))))
    if low:
        families.append(Family(name="changed damping", part="sensor", variants=tuple(_damping())))
    return tuple(families)


def searched_families(points: Points, rarity: float | None, steps: tuple[float, ...]) -> tuple[Family, ...]:
    """Families that are looked for only where a channel is not simply healthy: they lie anywhere in the table.

    ``rarity`` is the probability that a contact is lost at the readings that stand below all others; None where none
    does, so that there is no intermittent contact. ``steps`` are the places, 0 to 1, where the gain may have jumped.
    """
    families = [
        Family(name="notch", part="settings", variants=(_notch(points),)),
        Family(name="gain that moves", part="module", variants=tuple(_moving(steps))),
    ]
    if rarity is not None:
        families.append(Family(name=INTERMITTENT, part="cable", variants=(Variant(lost=True, share=rarity),)))
    return tuple(families)


LOSES = 0.2  # of the readings, how many an intermittent contact spoils; judgement, no source
_LOSS = ((-0.9, 0.6),)  # a loss may be large without being a crack


def _gain(parameter: str, sizes: tuple[Prior, ...], rare: tuple[Prior, ...]) -> tuple[Variant, ...]:
    """A factor of the usual sizes, and with a fifth of the weight one of any size."""
    found = []
    for share, group in ((0.8, sizes), (0.2, rare)):
        for centre, spread in group:
            found.append(Variant(expected={parameter: (centre, spread)}, share=share / len(group)))
    return tuple(found)


def _steps(parameter: str) -> Iterator[Variant]:
    """Another range, or a sensor of another type: sensitivities come in steps of 2, 5 and 10."""
    for factor in (2.0, 5.0, 10.0):
        for sign in (1.0, -1.0):
            yield Variant(expected={parameter: (sign * math.log(factor), 0.03)}, share=1.0 / 6.0)


def _dead(is_dc: bool) -> Iterator[Variant]:
    """Nothing comes through: what is shown is noise, or a dc value that rests."""
    silent = {"module_gain": -12.0}
    starts = ({"noise": math.log(0.0003)}, {"noise": math.log(0.003)}, {"noise": math.log(0.05)})
    for unsteady in (0.03, 0.15):
        expected = {"noise": (math.log(0.003), 0.95)}
        share = 0.3 if is_dc else 0.5
        yield Variant(expected=expected, fixed=silent, starts=starts, unsteady=unsteady, share=share)
    if is_dc:
        yield Variant(expected={"offset": (0.2, 0.4)}, fixed=silent | {"noise": OFF}, share=0.4)


def _zero() -> Variant:
    return Variant(expected={"offset": (0.0, 0.08)}, starts=({"offset": 0.03}, {"offset": -0.03}))


def _damping() -> Iterator[Variant]:
    """A moving coil whose damping left it, or grew."""
    for centre in (-0.7, 0.5):
        yield Variant(expected={"damping_low": (centre, 0.3)}, share=0.5)


def _notch(points: Points) -> Variant:
    low, high = math.log(points.frequency_hz.min()), math.log(points.frequency_hz.max())
    middle, at = math.log(points.reference_hz), [low + (high - low) * (i + 0.5) / 10.0 for i in range(10)]
    expected = {"notch": (1.0, 0.7), "notch_at": (0.0, 1.5), "notch_width": (math.log(0.4), 0.5)}
    return Variant(expected=expected, starts=tuple({"notch_at": hz - middle} for hz in at))


def _moving(steps: tuple[float, ...]) -> Iterator[Variant]:
    """Gain that drifts over the visit, or that jumps between two rows."""
    yield Variant(expected={"gain_drift": (0.0, 0.15)}, starts=({"gain_drift": 0.05},), share=0.5)
    for place in steps:
        expected, fixed = {"gain_step": (0.0, 0.2)}, {"gain_step_at": place}
        yield Variant(expected=expected, fixed=fixed, starts=({"gain_step": 0.05},), share=0.5 / STEPS)


STEPS = 20.0  # rows at which a gain could have jumped, of which the likeliest are fitted


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
    for unsteady in (0.0, 0.05):
        fixed = {"pickup_everywhere": 1.0}
        yield Variant(expected=wide, fixed=fixed, starts=starts, unsteady=unsteady, share=0.1)


def _noise() -> Iterator[Variant]:
    """Steady as a mean of many, or wavering as a mean of few."""
    starts = ({"noise": math.log(0.005)}, {"noise": math.log(0.03)})
    for unsteady in (0.0, 0.05):
        yield Variant(expected={"noise": (math.log(0.03), 0.8)}, starts=starts, unsteady=unsteady, share=0.5)


def _saturation(is_dc: bool) -> Iterator[Variant]:
    """A sine that is cut, as three detectors see it, or a shown value that goes no higher."""
    starts = tuple({"clip": math.log(level)} for level in (0.15, 0.35, 0.55, 0.75))
    kinds = (
        ((0.0, 0.3), (1.0, 0.15), (2.0, 0.15), (3.0, 0.4))
        if is_dc
        else ((0.0, 0.4), (1.0, 0.2), (2.0, 0.2), (3.0, 0.2))
    )
    for kind, share in kinds:
        yield Variant(expected={"clip": (math.log(0.45), 0.4)}, fixed={"clip_kind": kind}, starts=starts, share=share)


def _loose() -> Iterator[Variant]:
    moving = {"looseness": (0.0, 0.2), "hysteresis": (0.0, 0.03)}
    low_resonance = {"resonance": (math.log(2.0), 0.5), "sharpness": (0.3, 0.4)}
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
                expected = {f"corner_{side}": (0.4 * sign, 0.25), f"damping_{side}": (0.0, 0.15)}
                yield Variant(expected=expected, starts=({}, {f"corner_{side}": 0.2 * sign}), share=0.35 / 2.0)
            yield Variant(fixed={f"corner_{side}": beyond}, share=0.15)


def _integration(exponent: float) -> Variant:
    starts = tuple({"right_at": value} for value in (-0.7, 0.0, 0.7))
    return Variant(expected={"right_at": (0.0, 0.7)}, fixed={"slope_exponent": exponent}, starts=starts)


def _cracked() -> Iterator[Variant]:
    starts = tuple({"resonance": math.log(ratio)} for ratio in (1.5, 3.0))
    low_resonance = {"resonance": (math.log(2.5), 0.5), "sharpness": (0.3, 0.4)}
    yield Variant(expected={"sensor_gain": (-0.25, 0.15)} | low_resonance, starts=starts, share=0.8)
    yield Variant(expected={"sensor_gain": (-0.25, 0.15)}, share=0.2)


SCATTERS = (0.008, 0.015, 0.03, 0.06, 0.12)


def _strain() -> Iterator[Variant]:
    for scatter in SCATTERS:
        yield Variant(expected={"hysteresis": (0.0, 0.03)}, scatter=scatter, share=1.0 / len(SCATTERS))
