"""Small parts of a plot as SVG: markers, texts, dashes, and where the ticks of an axis stand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from html import escape
from typing import Any

from vibcal_nb.display.style import INK

FONT = "DejaVu Sans"
LINE_SCALE = 0.7  # of the widths and sizes that the plots name, which are those of a screen

# corners of markers for a half size of one
_CORNERS = {
    "D": ((0, -1), (1, 0), (0, 1), (-1, 0)),
    "s": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "^": ((0, -1), (1, 0.9), (-1, 0.9)),
}
_CROSS = "M-1 -1L1 1M-1 1L1 -1"


def mark_svg(marker: str, x: float, y: float, size: float, colour: str) -> str:
    """Draw a marker of a size in points, named as matplotlib names it."""
    half = 0.5 * size
    if marker in _CORNERS:
        points = " ".join(f"{x + half * dx:.2f},{y + half * dy:.2f}" for dx, dy in _CORNERS[marker])
        return f'<polygon points="{points}" fill="{colour}"/>'
    if marker in ("x", "X"):
        width = 0.7 if marker == "X" else 0.35
        return (
            f'<path d="{_CROSS}" transform="translate({x:.2f} {y:.2f}) scale({half:.2f})" fill="none" '
            f'stroke="{colour}" stroke-width="{width}"/>'
        )
    if marker == "|":
        return f'<path d="M{x:.2f} {y - half:.2f}V{y + half:.2f}" stroke="{colour}" stroke-width="1.4"/>'
    radius = half if marker == "o" else 0.5 * half
    return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" fill="{colour}"/>'


def text_svg(x: float, y: float, text: str, *, size: float, anchor: str) -> str:
    """Write a text; ``anchor`` is ``start``, ``middle`` or ``end``."""
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-family="{FONT}" font-size="{size:.2f}" text-anchor="{anchor}" '
        f'fill="{INK}" xml:space="preserve">{escape(text)}</text>'
    )


def stroke_svg(style: Mapping[str, Any]) -> str:
    """Return the attributes of a line that matplotlib's ``color``, ``lw``, ``ls`` and ``alpha`` describe.

    Dashes are ``(offset, lengths in line widths)``; any other ``ls`` is a full line.
    """
    width, dashes = LINE_SCALE * style.get("lw", 1.6), style.get("ls")
    found = f'stroke="{style["color"]}" stroke-width="{width:.2f}" stroke-opacity="{style.get("alpha", 1.0):g}"'
    if isinstance(dashes, tuple):
        found += f' stroke-dasharray="{" ".join(f"{part * width:.2f}" for part in dashes[1])}"'
    return found


def number_text(value: float) -> str:
    """Write the number of a tick, with a true minus."""
    return f"{value:.6g}".replace("-", "\N{MINUS SIGN}")


def ticks(low: float, high: float, *, most: int, logarithmic: bool = False) -> list[float]:
    """Return round numbers within the limits, ``most`` or a few more; of each decade where logarithmic."""
    if logarithmic:
        decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        for steps in ((1.0, 2.0, 5.0), (1.0, 5.0), (1.0,)):
            every = [step * 10.0**decade for decade in decades for step in steps]
            found = [value for value in every if low <= value <= high]
            if len(found) <= most:
                break
        return found
    rough = (high - low) / most
    decade = 10.0 ** math.floor(math.log10(rough))
    step = next(part * decade for part in (1.0, 2.0, 2.5, 5.0, 10.0) if part * decade >= rough * (1.0 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [number * step + 0.0 for number in range(first, last + 1)]
