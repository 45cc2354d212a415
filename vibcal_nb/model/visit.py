"""A visit: who, when, with what equipment, under which decision rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from vibcal_nb.model.layout import Layout
from vibcal_nb.model.relay.safety_trail import SafetyTrail


@dataclass(frozen=True, kw_only=True)
class Decision:
    """The decision rule: ``simple`` (no guard band) or ``guarded`` (guard band ``r`` times U).

    ``coverage_probability`` is what every U is stated for, and with it k. ``largest_u_share`` is the largest share of
    its tolerance that U may take where no guard band allows for it; ``grace_days`` how long a certificate that has
    run out still counts.
    """

    rule: str = "simple"
    r: float = 1.0
    coverage_probability: float = 0.95
    largest_u_share: float = 1.0
    grace_days: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Contribution:
    """A contribution to the uncertainty that this visit adds, in % of the level.

    ``kind`` is ``common`` to all readings of the visit or ``independent`` for each. ``divisor`` replaces
    the distribution's own where it is given; ``degrees_of_freedom`` None means infinitely many.
    """

    name: str
    value_pct: float
    distribution: str
    kind: str = "common"
    degrees_of_freedom: float | None = None
    source: str | None = None
    divisor: float | None = None


@dataclass(frozen=True, kw_only=True)
class Visit:
    """A visit to an asset; ``equipment`` holds identifiers, ``columns`` heading to column of the contract.

    ``outage`` names what several visits of the asset belong to, one that found and one that left.
    ``layout`` says how its reading table is laid out, where that is otherwise than the contract has it.
    ``trail`` is what it states of protection that was inhibited. ``laboratory``
    and ``customer`` are name and address, which a calibration report names.
    """

    date: date
    performed_by: str
    reviewed_by: str | None = None
    outage: str | None = None
    laboratory: str | None = None
    customer: str | None = None
    ambient_c: float | None = None
    notes: str | None = None
    equipment: tuple[str, ...]
    decision: Decision = field(default_factory=Decision)
    columns: Mapping[str, str] = field(default_factory=dict)
    layout: Layout | None = None
    contributions: tuple[Contribution, ...] = ()
    trail: SafetyTrail = field(default_factory=SafetyTrail)
