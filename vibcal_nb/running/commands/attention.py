"""What needs attention after a run: the channels as they stand, each with its reason and its file.

Protection that was inhibited and is not proved back in service stands first, then the worst verdict.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vibcal_nb.analysis.gates.gate import NOT_BACK
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING, VERDICTS
from vibcal_nb.model.names import AS_LEFT, CHANNEL_VERDICT, DRIFT
from vibcal_nb.running.commands.terminal import say, say_heading, say_verdict

if TYPE_CHECKING:
    from vibcal_nb.running.fleet.make_record import Outcome

_SHOWN = 20


@dataclass(frozen=True, kw_only=True)
class Attention:
    """One channel that does not pass: who, the verdict, why in one sentence, what to do first, and the record.

    ``not_back`` says that it was inhibited and is not proved back in service: it does not protect.
    """

    who: str
    verdict: str
    reason: str
    next_step: str
    record: Path
    not_back: bool


def list_attention(outcomes: Iterable[Outcome]) -> list[Attention]:
    """Return the channels that need attention, one entry a channel: those not proved back, then the worst first.

    What counts is a channel's latest visit of the run, in it *as left* where that was read, and the verdict on
    the whole channel where there is one. A drift counts where it fails: nothing is known of it in a first year.
    """
    standing: dict[tuple[str, str, bool], Outcome] = {}
    for outcome in outcomes:
        if outcome.result is None:
            continue
        case = outcome.case
        if case.analysis == DRIFT and outcome.result["verdict"] not in FAILING:
            continue
        key = (case.asset, case.channel, case.analysis == DRIFT)
        if key not in standing or _weight(outcome) > _weight(standing[key]):
            standing[key] = outcome
    found = [_entry(outcome) for outcome in standing.values() if _verdict(outcome) not in PASSING]
    return sorted(found, key=lambda entry: (not entry.not_back, -VERDICTS.index(entry.verdict), entry.who))


def _weight(outcome: Outcome) -> tuple[str, bool, bool, int]:
    case = outcome.case
    day = str(_summary(outcome).get("date") or "")
    return day, case.condition == AS_LEFT, case.analysis == CHANNEL_VERDICT, VERDICTS.index(_verdict(outcome))


def _verdict(outcome: Outcome) -> str:
    assert outcome.result is not None  # looked at by the caller
    return str(outcome.result["verdict"])


def _summary(outcome: Outcome) -> dict[str, Any]:
    return (outcome.result or {}).get("summary") or {}


def _entry(outcome: Outcome) -> Attention:
    case, summary = outcome.case, _summary(outcome)
    return Attention(
        who=f"{case.asset} {case.channel}",
        verdict=_verdict(outcome),
        reason=summary.get("sentence") or "",
        next_step=summary.get("next_step") or "",
        record=case.record,
        not_back=NOT_BACK in (summary.get("gates") or ()),
    )


def say_attention(outcomes: Iterable[Outcome]) -> None:
    """Print what needs attention, or that nothing does."""
    found = list_attention(outcomes)
    if not found:
        return
    say("")
    say_heading("What needs attention, the worst first")
    for entry in found[:_SHOWN]:
        say_verdict(entry.verdict, f"  {entry.who}: {entry.reason}")
        if entry.next_step:
            say(f"      do: {entry.next_step}")
        say(f"      see: {entry.record.as_posix()}")
    if len(found) > _SHOWN:
        say(f"  ... and {len(found) - _SHOWN} more channels; the overview has them all.")


def say_returned(outcomes: Iterable[Outcome]) -> None:
    """Print the records of a run that a reviewer returned, and that this run replaced by no other revision."""
    from vibcal_nb.records.review.returned import holding_return

    held = ((outcome.case, holding_return(outcome.case.record, outcome.seal)) for outcome in outcomes if outcome.seal)
    found = [(case, returned) for case, returned in held if returned is not None]
    if not found:
        return
    say("")
    say_heading("Returned by a reviewer: correct what it rests on, and run again")
    for case, returned in found[:_SHOWN]:
        say(f"  {case.asset} {case.channel}, {spoken(case.analysis)}, {spoken(case.condition)}: {returned.who}")
        say(f"      see: {case.record.as_posix()}")
    if len(found) > _SHOWN:
        say(f"  ... and {len(found) - _SHOWN} more; review has them all.")
