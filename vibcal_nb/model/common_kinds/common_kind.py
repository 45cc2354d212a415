"""One common kind of channel: what its form fixes, and what a person has to state."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Open:
    """A value that a person has to state; ``example`` is one that is common in the trade."""

    example: object


@dataclass(frozen=True, kw_only=True)
class CommonKind:
    """A kind of channel that many plants have.

    Attributes
    ----------
    name
        As it is called in ``kinds.toml`` and by a channel's ``kind``.
    about
        One sentence: what the chain is made of.
    advice
        Sentences for whoever fills it in.
    values
        The keys of a channel, tables nested: a value where the form of the chain fixes it, `Open` where a person has
        to state it. Keys that are left out are optional.
    axes
        Suffixes of the channels of one sensor, as those of a triaxial one; empty where it has one.
    """

    name: str
    about: str
    advice: tuple[str, ...] = ()
    values: Mapping[str, object]
    axes: tuple[str, ...] = ()


def opened(example: object) -> Open:
    """Return an open value with its example."""
    return Open(example=example)


def flat_band(*, reference_hz: float, flat_hz: tuple[float, float], flat_pct: float = 5.0) -> dict[str, object]:
    """Return a band whose reference and flat part are open."""
    return {"reference_hz": opened(reference_hz), "flat_hz": opened(list(flat_hz)), "flat_pct": opened(flat_pct)}


def filtered_band(
    *, reference_hz: float, flat_hz: tuple[float, float], corners_hz: tuple[float, float]
) -> dict[str, object]:
    """Return a band with both corners open as well."""
    low, high = corners_hz
    corners = {"corner_low_hz": opened(low), "corner_high_hz": opened(high)}
    return flat_band(reference_hz=reference_hz, flat_hz=flat_hz) | corners


def part(input_unit: str, output_unit: str, nominal: float, **more: object) -> dict[str, object]:
    """Return a sensor or what follows it: its units, and its sensitivity and tolerance, which are open."""
    units = {"input_unit": input_unit, "output_unit": output_unit}
    return units | {"nominal_sensitivity": opened(nominal), "tolerance_pct": opened(5.0)} | more
