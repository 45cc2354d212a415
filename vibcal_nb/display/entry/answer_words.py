"""What a reading says: within or without, how far, and what its test would be judged now."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.entry.answer import FAR_OFF_LEVEL_PCT, Answer
from vibcal_nb.analysis.entry.coming_off import Performed
from vibcal_nb.display.entry.step_words import unit_text
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import as_typed, number, percent, true_minus
from vibcal_nb.units import Unit


def answer_html(answer: Answer, *, row: int | None, excluded: bool) -> str:
    """Return what a reading says, and where it is kept."""
    reading = answer.reading
    output = typed_text(reading.output, reading.output_decimals, reading.output_unit)
    level = typed_text(reading.applied, reading.applied_decimals, reading.applied_unit)
    where = f"kept in row {row}" if row is not None else "kept in the journal; the table follows"
    struck = ", struck through" if excluded else ""
    typed = f"<p>{escape(f'{output} at {level}')}, {where}{struck}.</p>"
    return f"<div class='answer'>{_word(answer)}{typed}{_level(answer)}</div>"


def typed_text(value: float, decimals: int | None, unit: Unit) -> str:
    """Write a value as it was typed, with its unit."""
    return f"{true_minus(as_typed(value, decimals))} {unit_text(unit)}"


def _word(answer: Answer) -> str:
    off = "" if answer.off_pct is None else f", {percent(answer.off_pct)} from expected"
    if answer.within is None:
        return "<p class='word doubt'>? nothing to hold it against</p>"
    if answer.within:
        return f"<p class='word good'>✓ within{off}</p>"
    assert answer.expected is not None  # else it would be within nothing
    unit = escape(unit_text(answer.reading.output_unit))
    low, high = number(answer.expected.lowest), number(answer.expected.highest)
    return f"<p class='word bad'>✗ outside{off}</p><p>Between {low} and {high} {unit} is planned.</p>"


def _level(answer: Answer) -> str:
    off = answer.level_off_pct
    if off is None or abs(off) <= FAR_OFF_LEVEL_PCT:
        return ""
    return f"<p class='doubt'>The level is {percent(off, decimals=1)} off the planned one.</p>"


def now_html(performed: Performed, test: str) -> str:
    """Say what a test would be judged now, by the table as it stands."""
    if isinstance(performed, str):
        head = f"<p class='verdict'>{escape(spoken(test))} now: <b>not judged yet</b></p>"
        return f"{head}<p class='small'>{escape(performed)}</p>"
    sentence = view_of(performed).sentence(performed)
    return (
        f"<p class='verdict'>{escape(spoken(test))} now: {chip_html(performed.verdict)}</p>"
        f"<p class='small'>{escape(sentence)}.</p>"
    )
