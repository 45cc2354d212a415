"""Where a channel stands: the verdict on the whole channel leads, then its set points, its tests, its drift."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from vibcal_nb.analysis.channel.reach_point import DOES_NOT_ACT
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.analysis.gates.gate import NOT_BACK
from vibcal_nb.analysis.site.site_results import SetPointReach, SiteResult, latest_states
from vibcal_nb.metrology.conformity.decision import (
    CONDITIONAL_FAIL,
    CONDITIONAL_PASS,
    FAIL,
    FAILING,
    NOT_VERIFIED,
    VERDICTS,
)
from vibcal_nb.model.names import AS_LEFT, CHANNEL_VERDICT, VOTING
from vibcal_nb.units import DAYS_PER_YEAR

DAYS_PER_MONTH = DAYS_PER_YEAR / 12.0
SMALL_MARGIN_PCT = 20.0  # within this of a limit a channel is worth a look (the staircase's 80 %)

Pair = tuple[str | None, str | None]
"""Verdicts as found and as left; None where that was not read."""


def now(pair: Pair) -> str:
    """Return the verdict that holds: as left, or as found where nothing was read as left."""
    found, left = pair
    return left or found or NOT_VERIFIED


@dataclass(frozen=True, kw_only=True)
class ChannelState:
    """Where a channel stands.

    ``whole`` is the verdict on the whole channel at its last visit, None where none was made there; ``tests`` maps a
    test to its verdicts at the last visit that has it. ``set_points`` are those of the state that holds; ``gates`` name
    what kept a pass from being said, ``missing`` the tests that the channel is asked for and was not given;
    ``excluded`` and ``not_read`` count readings and planned rows that the verdict leaves out. ``urgency`` is 1 (act
    now) to 7, or 8 where nothing is to be done; ``reasons`` say why, the first decides. ``margin_pct`` is the least of
    the tests that hold; ``drift`` the last change of the greatest |E_n|. ``days`` are those of its visits;
    ``record`` is the one that decides where it stands, as a path from the records folder.
    """

    asset: str
    channel: str
    location: str
    visits: int
    last: date
    overdue_days: int
    whole: Pair | None
    tests: Mapping[str, Pair]
    margin_pct: float | None
    worst: str | None
    drift: Change | None
    set_points: tuple[SetPointReach, ...]
    gates: tuple[str, ...]
    missing: tuple[str, ...]
    excluded: int
    not_read: int
    urgency: int
    reasons: tuple[str, ...]
    days: tuple[date, ...] = ()
    record: str = ""

    @property
    def verdict(self) -> str:
        """The verdict on the whole channel; where none was made, the worst of its tests."""
        if self.whole is not None:
            return now(self.whole)
        return max((now(pair) for pair in self.tests.values()), key=VERDICTS.index)

    @property
    def is_group(self) -> bool:
        """Whether it is a group that votes and no channel: nothing else is tested by votes."""
        return VOTING in self.tests

    @property
    def not_back(self) -> bool:
        """Whether it was inhibited and is not proved back in service: it does not protect."""
        return NOT_BACK in self.gates

    @property
    def not_reached(self) -> tuple[SetPointReach, ...]:
        """The set points that were not verified; what is inferred or covered is none of them."""
        return tuple(point for point in self.set_points if not point.is_known and point.status != DOES_NOT_ACT)

    @property
    def silent(self) -> tuple[SetPointReach, ...]:
        """The set points on which the channel does not act."""
        return tuple(point for point in self.set_points if point.status == DOES_NOT_ACT)


def state_of(own: Sequence[SiteResult], changes: Sequence[Change], on: date, interval_months: float) -> ChannelState:
    """Return the state of a channel as on a day from all its results, and its changes from visit to visit."""
    latest = latest_states(own)
    whole = latest.pop(CHANNEL_VERDICT, None)
    last = max(r.date for r in own)
    if whole is not None and whole[0].date < last:
        whole = None  # tests were read since
    tests = {name: _pair(*states) for name, states in latest.items()}
    left = [state[1] for state in latest.values()]
    leading = [whole[1]] if whole is not None else left
    nearest = min((r for r in left if r.margin_pct is not None), key=lambda r: r.margin_pct or 0.0, default=None)
    state = ChannelState(
        asset=own[0].asset,
        channel=own[0].channel,
        location=own[-1].location,
        visits=len({r.date for r in own}),
        last=last,
        overdue_days=(on - last).days - round(interval_months * DAYS_PER_MONTH),
        whole=None if whole is None else _pair(*whole),
        tests=tests,
        margin_pct=None if nearest is None else nearest.margin_pct,
        worst=None if nearest is None else nearest.worst,
        drift=max(changes, key=lambda c: abs(c.E_n), default=None),
        set_points=tuple(point for result in leading for point in result.set_points),
        gates=tuple(dict.fromkeys(name for result in leading for name in result.gates)),
        missing=tuple(name for result in leading for name in result.missing),
        excluded=sum(result.excluded for result in leading),
        not_read=sum(result.not_read for result in leading),
        urgency=8,
        reasons=(),
        days=tuple(sorted({r.date for r in own})),
        record=max(leading, key=lambda result: VERDICTS.index(result.verdict)).record,
    )
    return _with_reasons(state)


def _pair(found: SiteResult, left: SiteResult) -> Pair:
    if found is left:
        return (None, left.verdict) if left.condition == AS_LEFT else (found.verdict, None)
    return found.verdict, left.verdict


def _with_reasons(state: ChannelState) -> ChannelState:
    why = dict(_reasons(state))
    return replace(state, urgency=min(why, default=8), reasons=tuple(why[key] for key in sorted(why)))


def _reasons(state: ChannelState) -> Iterator[tuple[int, str]]:
    def named(*words: str) -> str:
        return ", ".join(name for name, pair in state.tests.items() if now(pair) in words)

    failing = ["inhibited, and not proved back in service"] if state.not_back else []
    failing += [*(["does not act: " + _named(state.silent)] if state.silent else [])]
    failing += [f"left failing: {named(FAIL)}"] if named(FAIL) else []
    if failing:
        yield 1, "; ".join(failing)
    yield from _not_verified(state, named(NOT_VERIFIED))
    if named(CONDITIONAL_FAIL, CONDITIONAL_PASS):
        yield 3, f"conditional: {named(CONDITIONAL_FAIL, CONDITIONAL_PASS)}"
    if state.overdue_days > 0:
        yield 4, f"overdue by {state.overdue_days} day{'' if state.overdue_days == 1 else 's'}"
    if state.not_reached:
        yield 5, f"not reached: {_named(state.not_reached)}"
    mended = [name for name, (found, left) in state.tests.items() if found in FAILING and left and left not in FAILING]
    if mended:
        yield 6, f"found failing and mended: {', '.join(mended)}"
    yield from _to_watch(state, mended=bool(mended), failing=bool(failing))


def _not_verified(state: ChannelState, tests: str) -> Iterator[tuple[int, str]]:
    parts = [f"not verified: {tests}"] if tests else []
    parts += [", ".join(state.gates)] if state.gates else []
    parts += [f"not tested: {', '.join(state.missing)}"] if state.missing else []
    if parts:
        yield 2, "; ".join(parts)
    elif state.whole is not None and now(state.whole) == NOT_VERIFIED and not state.not_reached:
        yield 2, "not verified: see its record"


def _to_watch(state: ChannelState, *, mended: bool, failing: bool) -> Iterator[tuple[int, str]]:
    drift, margin = state.drift, state.margin_pct
    if drift is not None and drift.significant and not mended and not failing:
        yield 7, f"changed by {drift.change_pct:+.1f} % since the visit before (E_n {drift.E_n:+.1f})"
    elif margin is not None and 0.0 <= margin < SMALL_MARGIN_PCT:
        yield 7, f"margin {margin:.0f} %"


def _named(points: Sequence[SetPointReach]) -> str:
    return ", ".join(dict.fromkeys(f"{point.set_point} at {point.frequency_hz:.4g} Hz" for point in points))
