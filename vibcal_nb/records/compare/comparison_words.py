"""A comparison as lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.display.writing.names import plural
from vibcal_nb.display.writing.numbers import true_minus
from vibcal_nb.records.compare.comparison import Comparison
from vibcal_nb.records.compare.number_changes import NumberChange

MISSING = "–"
SAME = "Nothing differs that the records state."


def sections(comparison: Comparison) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield heading and sentences of what differs; what is alike in both is left out."""
    yield from (
        (heading, lines)
        for heading, lines in (
            ("What they are of", comparison.subject),
            ("What they were made from", comparison.made_from),
            ("What they say", comparison.said),
            ("Who signed them off", comparison.signed),
            ("What they were made with", comparison.made_with),
            ("Cells and outputs", comparison.cells),
        )
        if lines
    )


def verdict_line(comparison: Comparison) -> str:
    """Say both verdicts in one line."""
    old, new = comparison.verdicts
    return f"Verdict: {old} in both" if old == new else f"Verdict: {old} before, {new} after"


def count_line(comparison: Comparison) -> str:
    """Say how many numbers differ."""
    return f"{plural(len(comparison.numbers), 'number')} differ, {comparison.same_numbers} are the same"


def number_cells(change: NumberChange) -> tuple[str, str, str, str]:
    """Return before, after, change and change as a multiple of U, as text."""
    against = "" if change.against_u is None else f"{change.against_u:+.2g} U"
    return _text(change.before), _text(change.after), _text(change.change, signed=True), true_minus(against)


def change_line(change: NumberChange) -> str:
    """Say a change in one line: what it is of, from what to what, by how much and how many U."""
    before, after, by, against = number_cells(change)
    return f"{change.what}: {before} → {after}  ({', '.join(filter(None, (by, against)))})"


def _text(value: float | None, *, signed: bool = False) -> str:
    return MISSING if value is None else true_minus(f"{value:+.3g}" if signed else f"{value:.6g}")


def comparison_lines(comparison: Comparison, *, most: int = 40) -> Iterator[str]:
    """Yield the comparison line by line; of each part the first ``most``, with how many more there are."""
    yield f"before  {comparison.before.name}  {comparison.before.path.as_posix()}"
    yield f"after   {comparison.after.name}  {comparison.after.path.as_posix()}"
    yield verdict_line(comparison)
    if comparison.is_empty:
        yield SAME
        return
    for heading, lines in sections(comparison):
        yield heading
        yield from (f"  {line}" for line in lines[:most])
        if len(lines) > most:
            yield f"  and {len(lines) - most} more"
    yield count_line(comparison)
    for change in comparison.numbers[:most]:
        yield f"  {change_line(change)}"
    if len(comparison.numbers) > most:
        yield f"  and {len(comparison.numbers) - most} more"
