"""Why a verdict is so, as HTML: findings, what was not verified, and the rule; lists, folded or not."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.results.points_and_whole import word_points_and_whole
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.display.views import view_of


def verdict_reasons_html(result: Result) -> str:
    """Return why the verdict is so, what was not verified, what else was seen, and the rule, as HTML."""
    said = word_result(result)
    parts = [("Findings", said.findings), ("Not verified", said.gaps), ("Also seen", said.remarks)]
    parts.append(("Each reading, and all together", word_points_and_whole(result)))
    body = "".join(list_html(title, items) for title, items in parts if items)
    return f"{body}<p>{escape(view_of(result).rule(result))}</p>"


_FEW = 1
"""So few more than the most that are to stand unfolded stand unfolded, too."""


def list_html(title: str, items: tuple[str, ...], *, most: int | None = None) -> str:
    """Return items, which are sentences without their full stops, as a list under a title (none where it is empty).

    Those after the first ``most`` are folded.
    """
    head = f"<p><b>{title}</b></p>" if title else ""
    if most is None or len(items) <= most + _FEW:
        most = len(items)
    rest = folded_html(f"{len(items) - most} more", _list(items[most:])) if items[most:] else ""
    return f"{head}{_list(items[:most])}{rest}"


def _list(items: tuple[str, ...]) -> str:
    return f"<ul>{''.join(f'<li>{escape(item)}.</li>' for item in items)}</ul>"


def folded_html(summary: str, inner: str) -> str:
    """Return HTML that a reader unfolds."""
    return f"<details><summary>{escape(summary)}</summary>{inner}</details>"
