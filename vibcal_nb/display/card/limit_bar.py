"""A small bar beside a judged number: where it is allowed to lie, where it lies, and its U."""

from __future__ import annotations

import base64

from vibcal_nb.display.style import ALLOWED, DARK, FAILED, INK, LIMIT, PASSED
from vibcal_nb.metrology.conformity.decision import PASSING, Decision

WIDTH, HEIGHT = 120, 18
_ROOM = 1.6  # what is drawn, in half widths of what is allowed on either side of its middle


def limit_bar(decision: Decision) -> str:
    """Return the bar as an image; its numbers stand beside it, so that it has no alternative text."""
    low, high = _edges(decision)
    reach = max(_ROOM * 0.5 * (high - low), abs(decision.value - 0.5 * (low + high)) + decision.uncertainty.U)
    middle = 0.5 * (low + high)

    def x(value: float) -> float:
        return 0.5 * WIDTH * (1.0 + 0.94 * max(-1.0, min((value - middle) / reach, 1.0)))

    value, spread = decision.value, decision.uncertainty.U
    colour = PASSED if decision.verdict in PASSING else FAILED
    left, right = (
        (x(low) if decision.limits.lower is not None else 0.0),
        (x(high) if decision.limits.upper is not None else float(WIDTH)),
    )
    limits = "".join(f'<path class="l" d="M{x(edge):.1f} 2V{HEIGHT - 2}"/>' for edge in decision.limits.stated)
    drawing = (
        f'<rect class="a" x="{left:.1f}" y="3" width="{right - left:.1f}" height="{HEIGHT - 6}"/>{limits}'
        f'<path class="u" d="M{x(value - spread):.1f} 9H{x(value + spread):.1f}"/>'
        f'<circle class="v" cx="{x(value):.1f}" cy="9" r="4"/>'
    )
    return _image(drawing, colour)


def _edges(decision: Decision) -> tuple[float, float]:
    """The allowed range; of a limit on one side alone, as wide as the limit is far from zero."""
    lower, upper = decision.limits.lower, decision.limits.upper
    if lower is not None and upper is not None:
        return lower, upper
    edge = upper if upper is not None else lower or 0.0
    width = abs(edge) or 1.0
    return (edge - width, edge) if upper is not None else (edge, edge + width)


def _image(drawing: str, colour: str) -> str:
    rules = _rules(colour, INK, ALLOWED, LIMIT)
    dark = _rules(*(DARK[each] for each in (colour, INK, ALLOWED, LIMIT)))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f"<style>{rules}@media(prefers-color-scheme:dark){{{dark}}}</style>{drawing}</svg>"
    )
    data = base64.b64encode(svg.encode()).decode("ascii")
    return f'<img alt="" width="{WIDTH}" height="{HEIGHT}" src="data:image/svg+xml;base64,{data}">'


def _rules(value: str, spread: str, allowed: str, limit: str) -> str:
    return f".a{{fill:{allowed}}}.l{{stroke:{limit}}}.u{{stroke:{spread};stroke-width:2}}.v{{fill:{value}}}"
