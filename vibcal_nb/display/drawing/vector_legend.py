"""The legend of a plot as SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.display.drawing.vector_marks import mark_svg, text_svg

_KEY = 14.0  # width of what stands before a text, in points
_LETTER = 0.56  # mean width of DejaVu Sans, in its size


@dataclass(frozen=True, kw_only=True)
class LegendEntry:
    """A text and what it explains: a line's stroke, a fill, or a marker with colour and size."""

    text: str
    stroke: str = ""
    fill: str = ""
    marker: tuple[str, str, float] | None = None


def legend_svg(entries: Sequence[LegendEntry], *, left: float, top: float, width: float, size: float) -> str:
    """Place entries from a corner downwards, in as many columns as the width takes; lengths in points."""
    column = _KEY + 3.0 + _LETTER * size * max(len(entry.text) for entry in entries)
    rows = math.ceil(len(entries) / max(1, int(width / column)))
    line = 1.35 * size
    whole = column * math.ceil(len(entries) / rows)
    parts = [
        f'<rect x="{left:.2f}" y="{top:.2f}" width="{whole:.2f}" height="{line * rows:.2f}" fill="#fff" '
        'fill-opacity="0.85"/>'
    ]
    for number, entry in enumerate(entries):
        at = left + column * (number // rows) + 2.0, top + line * (number % rows + 0.5)
        parts.append(_key(entry, *at))
        parts.append(text_svg(at[0] + _KEY, at[1] + 0.36 * size, entry.text, size=size, anchor="start"))
    return "".join(parts)


def _key(entry: LegendEntry, x: float, y: float) -> str:
    if entry.marker is not None:
        marker, colour, size = entry.marker
        return mark_svg(marker, x + 6.0, y, size, colour)
    if entry.fill:
        return f'<rect x="{x:.2f}" y="{y - 2.5:.2f}" width="12" height="5" {entry.fill}/>'
    return f'<path d="M{x:.2f} {y:.2f}h12" fill="none" {entry.stroke}/>'
