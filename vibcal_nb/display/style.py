"""One look for all figures and tables: colours, markers, type.

One hue for what is allowed, one for what fails, ink for data, grey for models; readers who see few colours tell them
apart (M. Okabe and K. Ito, Color Universal Design, 2008). A verdict is always told by its word and a marker as well,
filled where it passes and hollow where it fails, so that it survives grey printing. Every colour of a word has a
contrast of 4.5 : 1 at least against what it stands on, on light and on dark (WCAG 2.2, 1.4.3).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from vibcal_nb.metrology.conformity.decision import CONDITIONAL_FAIL, CONDITIONAL_PASS, FAIL, NOT_VERIFIED, PASS

PAPER = "#ffffff"
INK = "#222222"
GREY = "#6a6a6a"
GRID = "#dddddd"
ALLOWED = "#e0f0fb"
GUARD = "#f1f8fd"  # allowed, but for the guard band
LIMIT = "#0068a8"
FAILED = "#b84300"
PASSED = "#00694b"
DOUBTED = "#8a5a00"
SET_POINT = "#7a5c00"
UNCERTAIN = "#d3d3d3"

# what a picture takes in place of each on a dark screen
DARK = {
    PAPER: "#111111",
    INK: "#e6e6e6",
    GREY: "#a8a8a8",
    GRID: "#3a3a3a",
    ALLOWED: "#15344b",
    GUARD: "#182631",
    LIMIT: "#6cb8ec",
    FAILED: "#ff9a66",
    PASSED: "#5fd0a6",
    DOUBTED: "#e0b050",
    SET_POINT: "#d9bb66",
    UNCERTAIN: "#4d4d4d",
}

# cells of a sheet to fill in
BLUE = "#0072B2"
ORANGE = "#E69F00"
VERMILION = "#D55E00"
YELLOW = "#F0E442"

FIGURE_WIDTH = 9.0


@contextmanager
def one_style(look: Any = MappingProxyType({})) -> Iterator[None]:
    """Draw in the one style within; ``look`` changes it. What a ``matplotlibrc`` says changes nothing."""
    import matplotlib as mpl

    with mpl.rc_context():
        settings: Any = mpl.rcParams
        dict.update(settings, _as_it_comes())  # checked already, and many
        mpl.rcParams.update({**RC, **look})
        yield


@cache
def _as_it_comes() -> dict[str, Any]:
    """Matplotlib's own settings, but for those of windows and of the whole process."""
    import matplotlib as mpl

    kept = ("backend", "backend_fallback", "interactive", "toolbar", "timezone")
    return {name: mpl.rcParamsDefault[name] for name in mpl.rcParamsDefault if name not in kept}


RC: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "text.parse_math": False,  # a dollar in a name is a dollar
    "axes.titlesize": 10.5,
    "axes.titlelocation": "left",
    "axes.titley": 1.0,  # where it stands, and is not sought
    "axes.labelsize": 9.5,
    "axes.edgecolor": GREY,
    "axes.facecolor": "none",
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": GRID,
    "grid.linewidth": 0.7,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.major.size": 0.0,
    "ytick.major.size": 0.0,
    "text.color": INK,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
    "lines.linewidth": 1.6,
    "figure.facecolor": PAPER,
}


def tint(colour: str, share: float) -> str:
    """Return a colour thinned with white to a ``share`` between 0 and 1, as ``#RRGGBB``."""
    parts = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return "#" + "".join(f"{round(255 - share * (255 - part)):02X}" for part in parts)


@dataclass(frozen=True, kw_only=True)
class VerdictLook:
    """How a verdict is drawn: a mark as text, one of a plot, filled or hollow, and a colour for its word."""

    symbol: str
    marker: str
    colour: str
    filled: bool


VERDICT_LOOKS = {
    PASS: VerdictLook(symbol="✓", marker="o", colour=PASSED, filled=True),
    CONDITIONAL_PASS: VerdictLook(symbol="(✓)", marker="D", colour=LIMIT, filled=True),
    NOT_VERIFIED: VerdictLook(symbol="?", marker="s", colour=GREY, filled=False),
    CONDITIONAL_FAIL: VerdictLook(symbol="(✗)", marker="d", colour=DOUBTED, filled=False),
    FAIL: VerdictLook(symbol="✗", marker="X", colour=FAILED, filled=False),
}


def verdict_text(verdict: str) -> str:
    """Return the marker and the word of a verdict."""
    return f"{VERDICT_LOOKS[verdict].symbol} {verdict}"
