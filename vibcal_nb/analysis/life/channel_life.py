"""The visits of one channel and what lies between: verdicts, items exchanged, adjustments, set points, sign-offs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.metrology.conformity.decision import Verdict, worst_verdict
from vibcal_nb.model.items import exchanges
from vibcal_nb.model.names import AS_FOUND, AS_LEFT


@dataclass(frozen=True, kw_only=True)
class VisitedTest:
    """One test of a visit; ``decided`` says who signed its record off or returned it, empty where nobody did."""

    test: str
    condition: str
    verdict: Verdict
    statement: str
    decided: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SetPointOfVisit:
    """A set point that was driven through its relay: levels in the channel's input unit, None where not found."""

    name: str
    level: float
    estimate: float | None
    expanded: float | None
    verdict: Verdict


@dataclass(frozen=True, kw_only=True)
class UsedItem:
    """A reference or readout that a visit used, with its certificate's last day."""

    id: str
    serial: str
    due: date


@dataclass(frozen=True, kw_only=True)
class LifeVisit:
    """What one visit found of the channel. ``items`` names by part what was installed when it was left."""

    day: date
    name: str
    performed_by: str
    tests: tuple[VisitedTest, ...]
    items: Mapping[str, str] = field(default_factory=dict)
    equipment: tuple[UsedItem, ...] = ()
    set_points: tuple[SetPointOfVisit, ...] = ()
    notes: str = ""

    def verdict(self, condition: str) -> Verdict | None:
        """The worst verdict of its tests in a condition; None where none was made."""
        found = [item.verdict for item in self.tests if item.condition == condition]
        return worst_verdict(found) if found else None


@dataclass(frozen=True, kw_only=True)
class LifeEvent:
    """Something that happened to the channel: an exchange, an adjustment, a certificate that had run out."""

    day: date
    kind: str
    said: str


EXCHANGE, ADJUSTMENT, RUN_OUT = "exchange", "adjustment", "certificate"


@dataclass(frozen=True, kw_only=True, eq=False)
class ChannelLife:
    """One channel over its visits, the earliest first; ``drift`` is None where nothing could be followed."""

    asset: str
    channel: str
    unit: str
    visits: tuple[LifeVisit, ...]
    drift: DriftResult | None
    why_no_drift: str = ""

    @property
    def tests(self) -> tuple[str, ...]:
        """The tests that any visit made, each once."""
        return tuple(dict.fromkeys(item.test for visit in self.visits for item in visit.tests))

    @property
    def events(self) -> tuple[LifeEvent, ...]:
        """What happened, the earliest first."""
        found = [*_exchanged(self.visits), *_adjusted(self.visits), *_run_out(self.visits)]
        return tuple(sorted(found, key=lambda event: (event.day, event.kind, event.said)))


def _exchanged(visits: Sequence[LifeVisit]) -> Iterator[LifeEvent]:
    for before, after in pairwise(visits):
        for found in exchanges(before.items, after.items):
            said = f"{found.part} {found.before} exchanged for {found.after}, after the visit of {before.day}"
            yield LifeEvent(day=after.day, kind=EXCHANGE, said=said)


def _adjusted(visits: Sequence[LifeVisit]) -> Iterator[LifeEvent]:
    """A visit that read a test as found and as left did something between."""
    for visit in visits:
        found, left = (
            {item.test: item.verdict for item in visit.tests if item.condition == condition}
            for condition in (AS_FOUND, AS_LEFT)
        )
        for test in (test for test in left if test in found):
            said = f"{test.replace('-', ' ')}: {found[test]} as found, {left[test]} as left"
            yield LifeEvent(day=visit.day, kind=ADJUSTMENT, said=said)


def _run_out(visits: Sequence[LifeVisit]) -> Iterator[LifeEvent]:
    for visit in visits:
        for item in visit.equipment:
            if item.due < visit.day:
                said = f"the certificate of {item.id} had run out on {item.due}, before the visit"
                yield LifeEvent(day=visit.day, kind=RUN_OUT, said=said)
