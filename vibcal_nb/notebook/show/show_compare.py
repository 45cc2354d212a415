"""What the comparison's cells call to show something: one call, one display."""

from __future__ import annotations

from html import escape

from vibcal_nb.display.results.verdict_html import list_html
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import capital, plural
from vibcal_nb.notebook.show import show
from vibcal_nb.records.compare.comparison import Comparison, OpenedRecord
from vibcal_nb.records.compare.comparison_tables import reading_tables, whole_table
from vibcal_nb.records.compare.comparison_words import SAME, change_line, count_line, sections, verdict_line
from vibcal_nb.records.compare.number_changes import NumberChange, of_reading
from vibcal_nb.records.compare.overlay import overlay

MOST = 60
"""Differences under one heading that are shown."""
_FROM_READINGS = "Made from readings, of which no record is at hand: no sign-offs, software or cells are compared."


def answer(comparison: Comparison) -> None:
    """Show both verdicts, how much differs, and the number whose change is largest against its U."""
    lines = [f"{count_line(comparison)}."] if comparison.numbers else []
    largest = next((change for change in comparison.numbers if _is_of_whole(change)), None)
    if largest is not None:
        lines.append(f"The largest change against its U, single readings apart: {change_line(largest)}.")
    lines += [SAME] if comparison.is_empty else []
    if not (comparison.before.is_sealed and comparison.after.is_sealed):
        lines.append(_FROM_READINGS)
    both = _row("before", comparison.before) + _row("after", comparison.after)
    said = "".join(f"<p>{escape(line)}</p>" for line in lines)
    names = f"{comparison.before.name} and {comparison.after.name}"
    text = " ".join((f"{names}.", f"{verdict_line(comparison)}.", *lines))
    show.html(f"<table><tbody>{both}</tbody></table>{said}", text)


def _is_of_whole(change: NumberChange) -> bool:
    return change.against_u is not None and of_reading(change.what) is None


def _row(when: str, record: OpenedRecord) -> str:
    left = 'style="text-align: left"'
    name = f"<td {left}>{escape(record.name)}</td>"
    chip = chip_html(str(record.result.get("verdict")))
    return f'<tr><th scope="row" {left}>{when}</th><td {left}>{chip}</td>{name}</tr>'


def figure(comparison: Comparison) -> None:
    """Show the readings of both in one figure, or say why there is none."""
    picture = overlay(comparison)
    if picture is None:
        show.sentence("No figure: the two hold no readings on one scale.")
    else:
        show.picture(picture)


def numbers(comparison: Comparison) -> None:
    """Show the numbers beside one another, those of single readings folded, a table a measure."""
    whole = whole_table(comparison)
    folded = [
        show.folded(f"{capital(table.caption)}: {plural(len(table.rows), 'reading')}", table)
        for table in reading_tables(comparison)
    ]
    show.html(whole.to_html() + "".join(folded), whole.to_text())


def differences(comparison: Comparison) -> None:
    """Show what else differs, each from what to what."""
    parts = [(heading, _first(lines)) for heading, lines in sections(comparison)]
    text = " ".join(f"{heading}: {'; '.join(lines)}." for heading, lines in parts)
    show.html("".join(list_html(*part) for part in parts) or f"<p>{SAME}</p>", text or SAME)


def _first(lines: tuple[str, ...]) -> tuple[str, ...]:
    more = len(lines) - MOST
    return lines if more <= 0 else (*lines[:MOST], f"and {more} more")
