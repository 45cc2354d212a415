"""What a failed as-found means for the time before: which way and how far the channel read wrong, and since when.

The statement says what the readings support and no more: they do not tell when between two visits a channel changed.
What that meant for the machine is for a competent person to judge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.channel.alarm_reach import ReachPoint
from vibcal_nb.analysis.channel.channel_tests import ChannelTests, analyse_tests
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.channel_case import EarlierVisit
from vibcal_nb.model.names import LINEARITY


@dataclass(frozen=True, kw_only=True)
class ReadingErrorAt:
    """How wrong the channel read at one test frequency, in %: the line, and the range of its readings."""

    frequency_hz: float
    error_pct: float
    expanded_pct: float
    least_pct: float
    most_pct: float


@dataclass(frozen=True, kw_only=True)
class Consequence:
    """What a failed as-found means for the time since the last good visit.

    ``failed_tests`` are those that failed; ``errors`` how wrong the channel read, by frequency; ``reach`` where its
    set points stood. ``last_good`` is None where no earlier visit shows the channel good; ``looked_at`` says in
    clauses what the visits after it, or all of them, showed.
    """

    failed_tests: tuple[str, ...]
    errors: tuple[ReadingErrorAt, ...]
    reach: tuple[ReachPoint, ...]
    last_good: EarlierVisit | None
    looked_at: tuple[str, ...]


def has_failed(tests: ChannelTests) -> bool:
    """Whether a test of the channel failed."""
    return any(word in FAILING for word in tests.verdicts.values())


def was_good(channel: Channel, visit: EarlierVisit) -> bool:
    """Whether a visit left the channel good: linearity passed, and no test failed."""
    if LINEARITY not in visit.cases:
        return False
    tests = analyse_tests(channel, visit.cases)
    return tests.verdicts[LINEARITY] in PASSING and not has_failed(tests)


def state_consequence(
    channel: Channel, found: ChannelTests, reach: tuple[ReachPoint, ...], earlier: Sequence[EarlierVisit]
) -> Consequence | None:
    """State what the failed tests ``found`` mean for the time before; None where none failed.

    ``reach`` is that of the channel as found; ``earlier`` are the earlier visits, the latest first.
    """
    if not has_failed(found):
        return None
    last_good, looked_at = None, []
    for visit in earlier:
        if was_good(channel, visit):
            last_good = visit
            break
        looked_at.append(visit.problem or f"the visit {visit.name} does not show the channel good")
    return Consequence(
        failed_tests=tuple(test for test, word in found.verdicts.items() if word in FAILING),
        errors=_errors(found),
        reach=reach,
        last_good=last_good,
        looked_at=tuple(looked_at),
    )


def _errors(found: ChannelTests) -> tuple[ReadingErrorAt, ...]:
    errors = []
    for item in () if found.linearity is None else found.linearity.frequencies:
        nominal = found.linearity.case.nominal_sensitivity if found.linearity is not None else 1.0
        used = [point.sensitivity for point in item.points if point.used and point.sensitivity is not None]
        read = [100.0 * (sensitivity / nominal - 1.0) for sensitivity in used]
        if item.line is not None and read:
            errors.append(
                ReadingErrorAt(
                    frequency_hz=item.frequency_hz,
                    error_pct=item.line.deviation_pct,
                    expanded_pct=item.line.deviation_expanded.U,
                    least_pct=min(read),
                    most_pct=max(read),
                )
            )
    return tuple(errors)
