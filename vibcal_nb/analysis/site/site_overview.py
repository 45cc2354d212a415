"""A whole site: every channel's state, what is overdue, what drifts, what shifted alike, and what to do first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.analysis.site.channel_state import ChannelState, state_of
from vibcal_nb.analysis.site.common_shift import CommonShift
from vibcal_nb.analysis.site.site_changes import histories, last_changes, occasion_levels, occasion_of, site_shifts
from vibcal_nb.analysis.site.site_results import Instrument, SiteResult
from vibcal_nb.model.names import CHANNEL_VERDICT, SET_POINTS, TESTS

LOOKED_AT = (*TESTS, SET_POINTS, CHANNEL_VERDICT)
"""What readings judge, and what their tests come to; a drift is none of these."""


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
    """The state of a site on a day, channels by urgency; ``results`` counts those of tests.

    ``retired`` are channels that are no longer in service. ``returned`` are records that a reviewer returned and that
    no other revision replaced: the place of each, and who returned it, when and why.
    """

    on: date
    interval_months: float
    results: int
    channels: tuple[ChannelState, ...]
    instruments: tuple[InstrumentState, ...]
    shifts: tuple[CommonShift, ...]
    actions: tuple[Action, ...]
    retired: tuple[str, ...] = ()
    returned: tuple[tuple[str, str], ...] = ()


URGENCIES = {
    1: "left failing, or not acting: mend, or inhibit by the site's procedure, and test again",
    2: "not verified: complete the readings",
    3: "within the tolerance by less than its uncertainty: decide, or measure better",
    4: "overdue: plan the visit",
    5: "set points were not verified: cover them by a larger shaker or by injection",
    6: "found failing and mended: judge what it meant for the machine, and shorten the interval",
    7: "drifts, or lies near a limit: watch, or adjust",
    8: "nothing to be done",
}


def overview_of(results: Iterable[SiteResult], *, on: date, interval_months: float) -> SiteOverview:
    """Look at all results of a site as on a day; a channel is overdue ``interval_months`` after its last visit.

    Raises ``ValueError`` where there are no results.
    """
    by_channel: dict[tuple[str, str], list[SiteResult]] = {}
    count = 0
    retired: dict[str, None] = {}
    for item in results:
        if item.retired is not None and item.retired <= on:
            retired[item.channel] = None
        elif item.analysis in LOOKED_AT:
            by_channel.setdefault((item.asset, item.channel), []).append(item)
            count += item.analysis in TESTS
    by_channel = {key: own for key, own in by_channel.items() if any(item.analysis in TESTS for item in own)}
    if not by_channel:
        raise ValueError("There are no results to look at; make records first, with the command run.")
    known = {key: histories(own) for key, own in by_channel.items()}
    levels = [pair for key, history in known.items() for pair in occasion_levels(" ".join(key), history)]
    shifts = site_shifts(levels)
    doubted = {shift.occasion for shift in shifts}
    states = []
    for key, own in by_channel.items():
        changes = [change for change in last_changes(known[key]) if not _is_doubted(own[0].asset, change, doubted)]
        states.append(state_of(own, changes, on, interval_months))
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
        retired=tuple(retired),
    )


def _is_doubted(asset: str, change: Change, doubted: set[str]) -> bool:
    """Whether a change is from or to an occasion on which all channels shifted: it is not the channel's then."""
    for item in (change.before, change.after):
        if f"{asset}, visit {item.visit}" in doubted or any(
            occasion_of(source) in doubted for source in item.shared_pct
        ):
            return True
    return False


def _order(state: ChannelState) -> tuple[bool, int, float, str, str]:
    """By urgency; what is not proved back in service stands first of all."""
    margin = 1e9 if state.margin_pct is None else state.margin_pct
    return not state.not_back, state.urgency, margin, state.asset, state.channel


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
