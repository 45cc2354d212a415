"""A comparison as one page that needs nothing else: no network, no script, no font."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from vibcal_nb.display.writing.names import capital, plural
from vibcal_nb.records.compare.comparison import Comparison
from vibcal_nb.records.compare.comparison_tables import BESIDE, by_measure, kept_columns
from vibcal_nb.records.compare.comparison_words import SAME, count_line, number_cells, sections, verdict_line
from vibcal_nb.records.compare.number_changes import NumberChange, of_reading
from vibcal_nb.records.compare.overlay import overlay

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"
_STYLE = """
:root { color-scheme: light dark; }
body { font: 15px/1.5 "Segoe UI", Helvetica, Arial, sans-serif; margin: 0 auto; max-width: 62rem; padding: 1.5rem;
  overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.1rem; }
p, li { max-width: 80ch; } .wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; font-size: 0.9rem; }
th, td { text-align: right; padding: 0.15rem 0.6rem; border-bottom: 1px solid #8888; }
th:first-child { text-align: left; } tbody th { font-weight: normal; } details { margin: 0.5rem 0; }
img { max-width: 100%; height: auto; }
"""


def comparison_page(comparison: Comparison) -> str:
    """Return the page of a comparison: verdicts, what differs, the figure, the numbers."""
    picture = overlay(comparison)
    parts = [
        f"<h1>Two records compared</h1><p>before: {_record(comparison.before.name, comparison.before.seal)}<br>"
        f"after: {_record(comparison.after.name, comparison.after.seal)}</p>",
        f"<p><b>{escape(verdict_line(comparison))}.</b></p>",
        f"<p>{SAME}</p>" if comparison.is_empty else "",
        *(_section(heading, lines) for heading, lines in sections(comparison)),
        "" if picture is None else f"<h2>Readings before and after</h2>{picture.to_html()}",
        _numbers(comparison),
    ]
    body = "\n".join(filter(None, parts))
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Compared: {escape(comparison.after.name)}</title><style>{_STYLE}</style></head>"
        f"<body><main>\n{body}\n</main></body></html>\n"
    )


def _record(name: str, seal: dict[str, object]) -> str:
    return f"{escape(name)}, seal <code>{escape(str(seal['digest'])[:16])}…</code>"


_FOLDED = 8
"""Lines from which on a list is folded."""


def _section(heading: str, lines: tuple[str, ...]) -> str:
    items = f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"
    if len(lines) < _FOLDED:
        return f"<h2>{heading}</h2>{items}"
    return f"<h2>{heading}</h2><details><summary>{len(lines)} differences</summary>{items}</details>"


def _numbers(comparison: Comparison) -> str:
    if not comparison.numbers:
        return f"<p>{count_line(comparison)}.</p>"
    whole = [change for change in comparison.numbers if of_reading(change.what) is None]
    return (
        f"<h2>{count_line(comparison)}</h2><p>The largest change against its expanded uncertainty U stands first. "
        "Readings of two visits have errors of their own; two revisions of the same readings share them.</p>"
        + (_table("quantity", [(change.what, change) for change in whole]) if whole else "")
        + "".join(_of_readings(comparison))
    )


def _of_readings(comparison: Comparison) -> Iterator[str]:
    """Yield the numbers of single readings, a table a place and measure, folded."""
    for measure, rows in by_measure(comparison).items():
        name = escape(f"{capital(measure)}: {plural(len(rows), 'reading')}")
        inner = _table("reading", [(str(number), change) for number, change in rows])
        yield f"<details><summary>{name}</summary>{inner}</details>"


def _table(of: str, rows: Sequence[tuple[str, NumberChange]]) -> str:
    """Return a table of numbers; a column that says nothing of any of them is left out."""
    cells = [number_cells(change) for _, change in rows]
    kept = kept_columns([change for _, change in rows])
    head = "".join(f"<th scope=col>{name}</th>" for name in (of, *(BESIDE[place] for place in kept)))
    body = "".join(
        f"<tr><th scope=row>{escape(name)}</th>{''.join(f'<td>{escape(row[place])}</td>' for place in kept)}</tr>"
        for (name, _), row in zip(rows, cells, strict=True)
    )
    return f"<div class=wide tabindex=0><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
