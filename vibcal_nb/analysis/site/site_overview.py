"""A whole site: every channel's state, what is overdue, what drifts, what shifted alike, and what to do first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.analysis.site.common_shift import CommonShift
from vibcal_nb.analysis.site.site_changes import histories, last_changes, occasion_levels, occasion_of, site_shifts
from vibcal_nb.analysis.site.site_results import Instrument, SetPointReach, SiteResult, latest_states
from vibcal_nb.metrology.conformity.decision import (
    CONDITIONAL_FAIL,
    CONDITIONAL_PASS,
    FAIL,
    FAILING,
    NOT_VERIFIED,
    VERDICTS,
)
from vibcal_nb.model.names import TESTS  # what readings judge; other records derive

DAYS_PER_MONTH = 365.25 / 12.0
SMALL_MARGIN_PCT = 20.0  # within this of a limit a channel is worth a look (the staircase's 80 %)


@dataclass(frozen=True, kw_only=True)
class ChannelState:
    """Where a channel stands. ``tests`` maps an analysis to its verdicts as found and as left at its last visit.

    ``urgency`` is 1 (act now) to 7, or 8 where nothing is to be done; ``reasons`` say why, the first decides.
    ``margin_pct`` is the least of the tests as left; ``drift`` the last change of the greatest |E_n|.
    """

    asset: str
    channel: str
    location: str
    visits: int
    last: date
    overdue_days: int
    tests: Mapping[str, tuple[str, str]]
    margin_pct: float | None
    worst: str | None
    drift: Change | None
    not_demonstrated: tuple[SetPointReach, ...]
    urgency: int
    reasons: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """The worst of the tests as left."""
        return max((left for _, left in self.tests.values()), key=VERDICTS.index)


@dataclass(frozen=True, kw_only=True)
class InstrumentState:
    """A reference or readout under its latest certificate; ``overdue_days`` is negative while it is valid."""

    instrument: Instrument
    last_used: date
    overdue_days: int
    used_overdue: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Action:
    """Something to do: ``urgency`` from 1, what, and the channels or instruments it is about."""

    urgency: int
    what: str
    subjects: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SiteOverview:
    """The state of a site on a day, channels by urgency."""

    on: date
    interval_months: float
    results: int
    channels: tuple[ChannelState, ...]
    instruments: tuple[InstrumentState, ...]
    shifts: tuple[CommonShift, ...]
    actions: tuple[Action, ...]


URGENCIES = {
    1: "left failing: mend, or inhibit by the site's procedure, and test again",
    2: "not verified: complete the readings",
    3: "within the tolerance by less than its uncertainty: decide, or measure better",
    4: "overdue: plan the visit",
    5: "set points were not reached: cover them by a larger shaker or by injection",
    6: "found failing and mended: judge what it meant for the machine, and shorten the interval",
    7: "drifts, or lies near a limit: watch, or adjust",
    8: "nothing to be done",
}


def oversee(results: Iterable[SiteResult], *, on: date, interval_months: float) -> SiteOverview:
    """Look at all results of a site as on a day; a channel is overdue ``interval_months`` after its last visit.

    Raises ``ValueError`` where there are no results.
    """
    by_channel: dict[tuple[str, str], list[SiteResult]] = {}
    count = 0
    for item in results:
        if item.analysis in TESTS:
            by_channel.setdefault((item.asset, item.channel), []).append(item)
            count += 1
    if not by_channel:
        raise ValueError("There are no results to look at; make records first, with the command run.")
    known = {key: histories(own) for key, own in by_channel.items()}
    levels = [pair for key, history in known.items() for pair in occasion_levels(" ".join(key), history)]
    shifts = site_shifts(levels)
    doubted = {shift.occasion for shift in shifts}
    states = []
    for key, own in by_channel.items():
        changes = [change for change in last_changes(known[key]) if not _is_doubted(own[0].asset, change, doubted)]
        states.append(_state(own, changes, on, interval_months))
    channels = tuple(sorted(states, key=_order))
    instruments = _instruments(by_channel.values(), on)
    return SiteOverview(
        on=on,
        interval_months=interval_months,
        results=count,
        channels=channels,
        instruments=instruments,
        shifts=shifts,
        actions=_actions(channels, instruments, shifts),
    )


def _is_doubted(asset: str, change: Change, doubted: set[str]) -> bool:
    """Whether a change is from or to an occasion on which all channels shifted: it is not the channel's then."""
    for item in (change.before, change.after):
        if f"{asset}, visit {item.visit}" in doubted or any(
            occasion_of(source) in doubted for source in item.shared_pct
        ):
            return True
    return False


def _order(state: ChannelState) -> tuple[int, float, str, str]:
    margin = 1e9 if state.margin_pct is None else state.margin_pct
    return state.urgency, margin, state.asset, state.channel


def _state(own: Sequence[SiteResult], changes: Sequence[Change], on: date, interval_months: float) -> ChannelState:
    latest = latest_states(own)
    left = [state[1] for state in latest.values()]
    tests = {name: (found.verdict, after.verdict) for name, (found, after) in latest.items()}
    nearest = min((r for r in left if r.margin_pct is not None), key=lambda r: r.margin_pct or 0.0, default=None)
    last = max(r.date for r in own)
    overdue = (on - last).days - round(interval_months * DAYS_PER_MONTH)
    drift = max(changes, key=lambda c: abs(c.E_n), default=None)
    gaps = tuple(s for r in left for s in r.set_points if not s.demonstrated)
    margin = None if nearest is None else nearest.margin_pct
    why = dict(_reasons(tests, margin, overdue, drift, gaps))
    return ChannelState(
        asset=own[0].asset,
        channel=own[0].channel,
        location=own[-1].location,
        visits=len({r.date for r in own}),
        last=last,
        overdue_days=overdue,
        tests=tests,
        margin_pct=margin,
        worst=None if nearest is None else nearest.worst,
        drift=drift,
        not_demonstrated=gaps,
        urgency=min(why, default=8),
        reasons=tuple(why[key] for key in sorted(why)),
    )


def _reasons(
    tests: Mapping[str, tuple[str, str]],
    margin: float | None,
    overdue: int,
    drift: Change | None,
    gaps: Sequence[SetPointReach],
) -> Iterable[tuple[int, str]]:
    def named(*words: str, left: bool = True) -> str:
        return ", ".join(name for name, pair in tests.items() if pair[int(left)] in words)

    if named(FAIL):
        yield 1, f"left failing: {named(FAIL)}"
    if named(NOT_VERIFIED):
        yield 2, f"not verified: {named(NOT_VERIFIED)}"
    if named(CONDITIONAL_FAIL, CONDITIONAL_PASS):
        yield 3, f"conditional: {named(CONDITIONAL_FAIL, CONDITIONAL_PASS)}"
    if overdue > 0:
        yield 4, f"overdue by {overdue} days"
    if gaps:
        yield 5, "not reached: " + ", ".join(dict.fromkeys(f"{s.set_point} at {s.frequency_hz:.4g} Hz" for s in gaps))
    mended = [n for n, (found, left) in tests.items() if found in FAILING and left not in FAILING]
    if mended:
        yield 6, f"found failing and mended: {', '.join(mended)}"
    if drift is not None and drift.significant and not mended and not named(FAIL):
        yield 7, f"changed by {drift.change_pct:+.1f} % since the visit before (E_n {drift.E_n:+.1f})"
    elif margin is not None and 0.0 <= margin < SMALL_MARGIN_PCT:
        yield 7, f"margin {margin:.0f} %"


def _instruments(results: Iterable[Sequence[SiteResult]], on: date) -> tuple[InstrumentState, ...]:
    latest: dict[tuple[str, str], Instrument] = {}
    used: dict[tuple[str, str], date] = {}
    late: dict[tuple[str, str], dict[str, None]] = {}
    for own in results:
        for result in own:
            for item in result.equipment:
                key = item.kind, item.serial or item.id
                if key not in latest or item.due > latest[key].due:
                    latest[key] = item
                used[key] = max(used.get(key, result.date), result.date)
                if item.due < result.date:
                    late.setdefault(key, {})[f"{result.asset}, visit {result.visit} ({item.id})"] = None
    states = (
        InstrumentState(
            instrument=item,
            last_used=used[key],
            overdue_days=(on - item.due).days,
            used_overdue=tuple(late.get(key, ())),
        )
        for key, item in latest.items()
    )
    return tuple(sorted(states, key=lambda s: -s.overdue_days))


def _actions(
    channels: Sequence[ChannelState], instruments: Sequence[InstrumentState], shifts: Sequence[CommonShift]
) -> tuple[Action, ...]:
    actions = []
    if shifts:
        what = (
            "check the reference, or what else the readings shared: all channels moved alike, which they do not do by "
            "themselves; hold back their verdicts until it is known"
        )
        moved = tuple(f"{shift.occasion} ({shift.shift_pct:+.1f} %)" for shift in shifts)
        actions.append(Action(urgency=1, what=what, subjects=moved))
    late = tuple(f"{s.instrument.id}, due {s.instrument.due.isoformat()}" for s in instruments if s.overdue_days > 0)
    if late:
        actions.append(Action(urgency=2, what="have this equipment calibrated before it is used again", subjects=late))
    misused = tuple(text for s in instruments for text in s.used_overdue)
    if misused:
        what = "judge results taken with equipment that was overdue at the visit"
        actions.append(Action(urgency=3, what=what, subjects=misused))
    for urgency, what in URGENCIES.items():
        subjects = tuple(f"{c.channel}" for c in channels if c.urgency == urgency)
        if subjects and urgency < 8:
            actions.append(Action(urgency=urgency, what=what, subjects=subjects))
    return tuple(sorted(actions, key=lambda a: a.urgency))
