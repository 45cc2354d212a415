"""A comparison as one page that needs nothing else: no network, no script, no font."""

from __future__ import annotations

from html import escape

from vibcal_nb.records.compare.comparison import Comparison
from vibcal_nb.records.compare.comparison_words import SAME, count_line, number_cells, sections, verdict_line
from vibcal_nb.records.compare.overlay import overlay

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"
_STYLE = """
:root { color-scheme: light dark; }
body { font: 15px/1.5 "Segoe UI", Helvetica, Arial, sans-serif; margin: 0 auto; max-width: 62rem; padding: 1.5rem;
  overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.1rem; }
p, li { max-width: 80ch; } .wide { overflow-x: auto; }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; font-size: 0.9rem; }
th, td { text-align: left; padding: 0.15rem 0.6rem; border-bottom: 1px solid #8888; } td + td { text-align: right; }
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


def _section(heading: str, lines: tuple[str, ...]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<h2>{heading}</h2><ul>{items}</ul>"


_HEADINGS = ("quantity", "before", "after", "change", "change / U")


def _numbers(comparison: Comparison) -> str:
    if not comparison.numbers:
        return f"<p>{count_line(comparison)}.</p>"
    head = "".join(f"<th scope=col>{name}</th>" for name in _HEADINGS)
    rows = "".join(
        f"<tr><th scope=row>{escape(change.what)}</th>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"
        for change in comparison.numbers
        for cells in [number_cells(change)]
    )
    return (
        f"<h2>{count_line(comparison)}</h2><p>The largest change against its expanded uncertainty U stands first. "
        "Readings of two visits have errors of their own; two revisions of the same readings share them.</p>"
        f"<div class=wide tabindex=0><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )
