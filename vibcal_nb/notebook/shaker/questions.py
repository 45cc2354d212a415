"""What is asked about a reading before the next one, and what each answer does to the table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from vibcal_nb.analysis.entry.answer import Answer
from vibcal_nb.analysis.entry.steps import Step
from vibcal_nb.analysis.slips.slip import Slip
from vibcal_nb.analysis.slips.slip_kinds import NO_ONE_SLIP, OUTSIDE
from vibcal_nb.model.readings import Reading
from vibcal_nb.notebook.shaker.typed import plain_number
from vibcal_nb.notebook.shaker.visit import ShakerVisit
from vibcal_nb.records.entry.visit_table import Kept

AS_READ: Final = "as read"
MEANT: Final = "meant"
AGAIN: Final = "again"
CHANNEL: Final = "channel"

CONFIRMED = "asked at the shaker: it was so read"
_MOST_DIGITS = 12


@dataclass(frozen=True, kw_only=True)
class Choice:
    """An answer that a person may give, by its letter."""

    letter: str
    act: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question about a reading: where the slip was found, what it was read for, and the answers."""

    answer: Answer
    slip: Slip
    step: Step | None
    choices: tuple[Choice, ...]


def may_be_the_channel(slip: Slip) -> bool:
    """Whether a slip is no more than a departure, which a fault of the channel makes, too."""
    return slip.kind == OUTSIDE and (slip.limits is not None or slip.cause == NO_ONE_SLIP)


def ask(answer: Answer, *, step: Step | None, silenced: bool) -> Asked | None:
    """Return the first question about a reading; None where there is none, or it is ``silenced``."""
    for slip in answer.slips:
        if silenced and may_be_the_channel(slip):
            continue
        return Asked(answer=answer, slip=slip, step=step, choices=tuple(_choices(slip, answer.reading)))
    return None


def _choices(slip: Slip, reading: Reading) -> Iterator[Choice]:
    known = [(was, meant) for was, meant in _pairs(slip) if meant.exclude is None]
    if known:
        was, meant = next((pair for pair in known if pair[0].row == reading.row), known[0])
        what = " and ".join(_differs(was, meant))
        others = f", and {len(known) - 1} more" if len(known) > 1 else ""
        yield Choice(letter="M", act=MEANT, text=f"Meant was {what}{others}: write that; the row stays, struck through")
    yield Choice(letter="R", act=AGAIN, text="Read it again now; the row stays, struck through")
    yield Choice(letter="K", act=AS_READ, text="Keep it: it was so read")
    if may_be_the_channel(slip):
        yield Choice(letter="C", act=CHANNEL, text=f"It is the channel: keep it, ask no more of this in {reading.test}")


def _pairs(slip: Slip) -> list[tuple[Reading, Reading]]:
    """The rows as written and as probably meant, where that is another thing."""
    meant = {reading.row: reading for reading in slip.meant}
    return [(was, meant[was.row]) for was in slip.written if was.row in meant and meant[was.row] != was]


def _differs(was: Reading, meant: Reading) -> Iterator[str]:
    if (was.output, was.output_unit) != (meant.output, meant.output_unit):
        yield f"{_as_typed(meant.output, was.output, was.output_decimals)} {meant.output_unit}"
    if (was.applied, was.applied_unit) != (meant.applied, meant.applied_unit):
        yield f"{_as_typed(meant.applied, was.applied, was.applied_decimals)} {meant.applied_unit}"
    if was.frequency_hz != meant.frequency_hz:
        yield f"{meant.frequency_hz:.6g} Hz"


def _as_typed(value: float, typed: float, decimals: int | None) -> str:
    """Write a number with as many digits that count as were typed for the other one."""
    if value == typed and decimals is not None and 0 <= decimals <= _MOST_DIGITS:
        return f"{value:.{decimals}f}"
    shown = f"{typed:.{max(decimals or 0, 0)}f}"
    count = len(shown.replace(".", "").replace("-", "").lstrip("0")) or 1
    text = f"{value:#.{min(count, _MOST_DIGITS)}g}"
    return text.rstrip(".") if "e" not in text else plain_number(value)


def write_meant(asked: Asked, visit: ShakerVisit) -> tuple[Kept, Answer] | None:
    """Keep the rows as they were, with the reason, and enter what was meant; return the entry of this reading."""
    found = None
    for was, meant in _pairs(asked.slip):
        if meant.exclude is not None:
            visit.table.change(was.row, "exclude", meant.exclude)
            continue
        cells = visit.table.text.cells(was.row)
        visit.table.change(was.row, "exclude", f"written down wrongly: {' and '.join(_differs(was, meant))} was meant")
        entered = visit.enter(_with(cells, was, meant), step=None)
        if was.row == asked.answer.reading.row or found is None:
            found = entered
    return found


def _with(cells: dict[str, str], was: Reading, meant: Reading) -> dict[str, str]:
    """Return the cells of a row with what was meant in place of what was written."""
    kept = ("channel", "test", "condition", "direction", "repeat")
    return {
        **{name: cells.get(name, "") for name in kept},
        "frequency_hz": plain_number(meant.frequency_hz) if meant.frequency_hz else "",
        "applied": _as_typed(meant.applied, was.applied, was.applied_decimals),
        "applied_unit": meant.applied_unit.text,
        "output": _as_typed(meant.output, was.output, was.output_decimals),
        "output_unit": meant.output_unit.text,
    }
