"""A channel's tests on its sheet: figure and numbers of each, as found and as left beside one another."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from vibcal_nb.display.results.figures import alternative_text, result_picture
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.display.results.tables import summary_table
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import NONE
from vibcal_nb.display.writing.table import Table
from vibcal_nb.records.analyses import analysis_named


@dataclass(frozen=True, kw_only=True)
class SealedResult:
    """A result with its entry of ``results.json``, the seal of its record, and the pictures that the record holds.

    ``pictures`` are SVG by what they say in words: one that says what the result's would say is the result's.
    ``result`` is None where it is of more than one test of this visit (drift): the sheet then gives its verdict,
    its statement and its numbers, and leaves figures to the record.
    """

    result: Any
    entry: Mapping[str, Any]
    seal: Mapping[str, Any]
    pictures: Mapping[str, str] = field(default_factory=dict)


def list_tests(items: Sequence[SealedResult]) -> list[dict[str, Any]]:
    """Gather each test's results, in the order given; every item has a result."""
    tests: dict[str, list[SealedResult]] = {}
    for item in items:
        tests.setdefault(str(item.entry["analysis"]), []).append(item)
    return [_test(name, own) for name, own in tests.items()]


def _test(name: str, items: Sequence[SealedResult]) -> dict[str, Any]:
    labels = [spoken(str(item.entry["condition"])) for item in items]
    wordings = [word_result(item.result) for item in items]
    return {
        "heading": spoken(name).capitalize(),
        "method": analysis_named(name).method,
        "parts": [_part(item, label) for item, label in zip(items, labels, strict=True)],
        "table": _side_by_side([summary_table(item.result) for item in items], labels),
        "gaps": _said(wordings, labels, lambda said: said.gaps),
        "remarks": _said(wordings, labels, lambda said: said.remarks),
    }


def _part(item: SealedResult, label: str) -> dict[str, str]:
    verdict, text = str(item.entry["verdict"]), alternative_text(item.result)
    return {
        "condition": label,
        "word": verdict_text(verdict),
        "colour": VERDICT_LOOKS[verdict].colour,
        "figure": item.pictures.get(text) or result_picture(item.result).svg,
        "alt": text,
    }


def _side_by_side(tables: Sequence[Table], labels: Sequence[str]) -> dict[str, Any]:
    """Put tables of the same quantities beside one another, a row a quantity; one alone stays as it is."""
    numeric = any(heading for table in tables for heading in table.headings)
    rows: dict[str, list[str]] = {}
    headings, width = [tables[0].headings[0] if tables[0].headings else ""], 0
    for table, label in zip(tables, labels, strict=True):
        columns = max((len(row.cells) + bool(row.verdict) for row in table.rows), default=1) - 1
        named = (*table.headings[1:], *[""] * columns)[:columns]
        headings += [", ".join(filter(None, (name, label))) for name in named] if len(tables) > 1 else named
        for row in table.rows:
            cells = [*row.cells[1:], *([verdict_text(row.verdict)] if row.verdict else [])]
            before = rows.setdefault(row.cells[0], [])
            before += [NONE] * (width - len(before)) + cells + [""] * (columns - len(cells))
        width += columns
    notes = dict.fromkeys(table.note for table in tables if table.note)
    return {
        "caption": tables[0].caption,
        "headings": headings,
        "rows": [[name, *cells, *[NONE] * (width - len(cells))] for name, cells in rows.items()],
        "numeric": numeric,
        "note": " ".join(notes),
    }


def _said(wordings: Sequence[Wording], labels: Sequence[str], choose: Callable[[Wording], Sequence[str]]) -> list[str]:
    """List what is said of each state, what is said of all first."""
    said_of: dict[str, list[str]] = {}
    for text in dict.fromkeys(text for said in wordings for text in choose(said)):
        of = [label for said, label in zip(wordings, labels, strict=True) if text in choose(said)]
        said_of.setdefault("" if len(of) == len(wordings) else f"{' and '.join(of)}: ", []).append(text)
    return [f"{label}{'; '.join(texts)}" for label, texts in sorted(said_of.items())]
