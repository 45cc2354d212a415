"""One look for all figures and tables: colours, markers, type.

Colours: M. Okabe and K. Ito, Color Universal Design (2008), told apart by colour-blind readers. A verdict is
always told by its word and a marker as well, so that it survives grey printing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from vibcal_nb.metrology.conformity.decision import CONDITIONAL_FAIL, CONDITIONAL_PASS, FAIL, NOT_VERIFIED, PASS

INK = "#222222"
FAINT = "#8a8a8a"
GRID = "#dddddd"
BLUE = "#0072B2"
SKY = "#56B4E9"
GREEN = "#009E73"
ORANGE = "#E69F00"
VERMILION = "#D55E00"
PURPLE = "#CC79A7"
YELLOW = "#F0E442"

SET_POINT_COLOURS = {"alert": ORANGE, "trip": VERMILION}

FIGURE_WIDTH = 9.0
SCREEN_DPI = 100
RECORD_DPI = 160

RC: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "axes.titlesize": 10.5,
    "axes.titlelocation": "left",
    "axes.labelsize": 9.5,
    "axes.edgecolor": FAINT,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": GRID,
    "grid.linewidth": 0.7,
    "xtick.color": INK,
    "ytick.color": INK,
    "text.color": INK,
    "legend.frameon": True,
    "legend.edgecolor": "white",
    "legend.framealpha": 0.9,
    "legend.fontsize": 8.5,
    "lines.linewidth": 1.6,
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
}


def tint(colour: str, share: float) -> str:
    """Return a colour thinned with white to a ``share`` between 0 and 1, as ``#RRGGBB``."""
    parts = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return "#" + "".join(f"{round(255 - share * (255 - part)):02X}" for part in parts)


@dataclass(frozen=True, kw_only=True)
class VerdictLook:
    """How a verdict's word is drawn: a text marker, a plot marker and a colour that says the same."""

    symbol: str
    marker: str
    colour: str


VERDICT_LOOKS = {
    PASS: VerdictLook(symbol="✓", marker="o", colour=GREEN),
    CONDITIONAL_PASS: VerdictLook(symbol="(✓)", marker="D", colour=BLUE),
    NOT_VERIFIED: VerdictLook(symbol="?", marker="s", colour="#6b6b6b"),
    CONDITIONAL_FAIL: VerdictLook(symbol="(✗)", marker="^", colour="#B07900"),
    FAIL: VerdictLook(symbol="✗", marker="X", colour=VERMILION),
}


def verdict_text(verdict: str) -> str:
    """Return the marker and the word of a verdict."""
    return f"{VERDICT_LOOKS[verdict].symbol} {verdict}"
