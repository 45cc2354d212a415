"""A figure that is not drawn but written down as plain data, for whoever draws it where a person can touch it.

It takes the calls by which our drawing functions draw with matplotlib, and no others. So the figure of a record and
the one under a person's finger come from one function and cannot drift apart. Colours stay those of the style.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from vibcal_nb.display.style import FIGURE_WIDTH, GREY, INK

Data = dict[str, Any]
DATA, SHARE, FIGURE = "data", "axes", "figure"
"""What a text's place is given in: the units of the axis, a share of the axis, a share of the figure."""

ROWS = "rows "
"""Begins the name (``gid``) of marks that are readings; the rows of their table follow."""

_SIZE = 9.5
_MARGIN = 0.05
_HORIZONTALS = {"left": "start", "center": "middle", "right": "end"}


class Place(NamedTuple):
    """Where axes stand, in shares of the figure."""

    x0: float
    y0: float
    width: float
    height: float


class LightFigure:
    """Takes axes and keeps what is drawn into them; ``inches`` is its height."""

    def __init__(self, inches: float) -> None:
        self._inches = inches
        self._axes: list[LightAxes] = []
        self.transFigure = (FIGURE, FIGURE)
        self.key: list[str] = []

    def get_size_inches(self) -> Any:
        """Return width and height."""
        return np.array([FIGURE_WIDTH, self._inches])

    def add_axes(self, place: Sequence[float]) -> LightAxes:
        """Return new axes at left, bottom, width and height, in shares of the figure."""
        self._axes.append(LightAxes(self, tuple(place)))
        return self._axes[-1]

    def data(self) -> Data:
        """Return the figure: its height in inches, what explains its marks, and its plots by row and column."""
        lefts = _distinct([ax.place[0] for ax in self._axes])
        tops = _distinct([-ax.place[1] - ax.place[3] for ax in self._axes])
        panes = [
            ax.data() | {"column": _which(lefts, ax.place[0]), "row": _which(tops, -ax.place[1] - ax.place[3])}
            for ax in self._axes
        ]
        return {"inches": self._inches, "key": list(self.key), "panes": panes}


def _distinct(values: Sequence[float]) -> list[float]:
    found: list[float] = []
    for value in sorted(values):
        if not found or value - found[-1] > 0.01:
            found.append(value)
    return found


def _which(places: Sequence[float], value: float) -> int:
    return int(np.argmin(np.abs(np.array(places) - value)))


class _Axis:
    """One axis: a label, limits, a scale, and where numbers stand if that was said."""

    def __init__(self) -> None:
        self.label, self.limits, self.log = "", None, False  # type: str, tuple[float, float] | None, bool
        self.ticks: list[tuple[float, str]] | None = None

    def set_major_locator(self, _: Any) -> None:
        """Whoever draws the figure finds round places by itself."""

    set_minor_locator = set_major_formatter = set_major_locator

    def set_label_coords(self, *_: float) -> None:
        """Labels have their place."""

    def data(self, values: Sequence[float]) -> Data:
        found = {"label": self.label, "limits": [*(self.limits or _around(values))], "log": self.log}
        return found if self.ticks is None else found | {"ticks": self.ticks}


def _around(values: Sequence[float]) -> tuple[float, float]:
    finite = np.array([value for value in values if value is not None], dtype=float)
    if finite.size == 0:
        return 0.0, 1.0
    low, high = float(finite.min()), float(finite.max())
    margin = _MARGIN * (high - low) or 1.0
    return low - margin, high + margin


class LightAxes:
    """One plot: what is drawn into it, in order."""

    def __init__(self, figure: LightFigure, place: tuple[float, ...]) -> None:
        self.figure, self.place = figure, place
        self.xaxis, self.yaxis = _Axis(), _Axis()
        self.transData, self.transAxes = (DATA, DATA), (SHARE, SHARE)
        self._items: list[Data] = []
        self._titles: dict[str, Data] = {}

    def data(self) -> Data:
        """Return the plot."""
        across = [x for item in self._items for x in item.get("x", ())]
        up = [y for item in self._items for name in ("y", "low", "high") for y in item.get(name, ())]
        return {
            "wide": float(self.place[2]),
            "high": float(self.place[3]),
            "x": self.xaxis.data(across),
            "y": self.yaxis.data(up),
            "titles": self._titles,
            "items": sorted(self._items, key=lambda item: float(item["z"])),
        }

    def get_position(self) -> Any:
        """Return where the axes stand."""
        return Place(*self.place)

    def get_xaxis_transform(self) -> tuple[str, str]:
        """Return that x is in units of its axis and y a share of its own."""
        return DATA, SHARE

    def get_yaxis_transform(self) -> tuple[str, str]:
        """Return that y is in units of its axis and x a share of its own."""
        return SHARE, DATA

    def get_xlim(self) -> tuple[float, float]:
        """Return the limits of x."""
        return self.xaxis.limits or (0.0, 1.0)

    def get_ylim(self) -> tuple[float, float]:
        """Return the limits of y."""
        return self.yaxis.limits or (0.0, 1.0)

    def set_xlim(self, low: float, high: float) -> None:
        """Set the limits of x."""
        self.xaxis.limits = float(low), float(high)

    def set_ylim(self, low: float, high: float) -> None:
        """Set the limits of y."""
        self.yaxis.limits = float(low), float(high)

    def set_xlabel(self, text: str) -> None:
        """Name x."""
        self.xaxis.label = text

    def set_ylabel(self, text: str) -> None:
        """Name y."""
        self.yaxis.label = text

    def set_xscale(self, name: str) -> None:
        """Make x logarithmic, or not."""
        self.xaxis.log = name == "log"

    def set_yscale(self, name: str) -> None:
        """Make y logarithmic, or not."""
        self.yaxis.log = name == "log"

    def set_xticks(self, places: Sequence[float], labels: Sequence[str] | None = None) -> None:
        """Say where x has its numbers."""
        self.xaxis.ticks = [(float(at), text) for at, text in zip(places, labels or map(_plain, places), strict=True)]

    def set_yticks(self, places: Sequence[float], labels: Sequence[str] | None = None) -> None:
        """Say where y has its numbers."""
        self.yaxis.ticks = [(float(at), text) for at, text in zip(places, labels or map(_plain, places), strict=True)]

    def set(self, **given: Any) -> None:
        """Set several at once."""
        for name, value in given.items():
            getattr(self, f"set_{name}")(*(value if name in ("xlim", "ylim") else (value,)))

    def set_title(self, text: str, *, loc: str = "left", color: str = INK, **_: Any) -> None:
        """Write above the plot."""
        self._titles[loc] = {"text": text, "colour": color}

    def grid(self, **_: Any) -> None:
        """Whoever draws the figure draws its grid."""

    def tick_params(self, **_: Any) -> None:
        """Whoever draws the figure numbers the lowest plot of a column."""

    def plot(self, x: Any, y: Any, **look: Any) -> None:
        """Keep a line, or marks where there is no line."""
        if look.get("marker") and look.get("ls") == "none":
            gid = str(look.get("gid") or "")
            self._keep(
                "marks", look, x=_numbers(x), y=_numbers(y), shape=look["marker"], size=look.get("ms", 6.0),
                edge=look.get("mec", INK), fill=look.get("mfc", look.get("color", INK)),
                rows=[int(row) for row in gid.removeprefix(ROWS).split()] if gid.startswith(ROWS) else [],
            )  # fmt: skip
        else:
            self._keep("line", look, x=_numbers(x), y=_numbers(y))

    def fill_between(self, x: Any, low: Any, high: Any, **look: Any) -> None:
        """Keep an area between two curves."""
        across = np.asarray(x, dtype=float)
        bounds = {name: _numbers(np.broadcast_to(v, across.shape)) for name, v in (("low", low), ("high", high))}
        self._keep("area", look, x=_numbers(across), **bounds)

    def axhspan(self, low: float, high: float, **look: Any) -> None:
        """Keep a shade across the plot."""
        self._keep("across", look, bounds=_numbers([low, high]))

    def axvspan(self, low: float, high: float, **look: Any) -> None:
        """Keep a shade from top to bottom."""
        self._keep("down", look, bounds=_numbers([low, high]))

    def axhline(self, value: float, **look: Any) -> None:
        """Keep a line across the plot."""
        self._keep("level", look, at=float(value))

    def axvline(self, value: float, **look: Any) -> None:
        """Keep a line from top to bottom."""
        self._keep("upright", look, at=float(value))

    def text(self, x: float, y: float, text: str, **look: Any) -> None:
        """Keep a text; one whose place is the figure's explains marks."""
        given_in = look.pop("transform", self.transData)
        if given_in == (FIGURE, FIGURE):
            self.figure.key += text.split(" · ")
        elif text:
            self._write(x, y, text, given_in=given_in, aside=(0.0, 0.0), look=look)

    def annotate(self, text: str, xy: Sequence[float], **look: Any) -> None:
        """Keep a text beside a place; ``xytext`` is how far, in points."""
        aside = look.pop("xytext", (0.0, 0.0))
        self._write(xy[0], xy[1], text, given_in=self.transData, aside=aside, look=look)

    def _write(self, x: float, y: float, text: str, *, given_in: Any, aside: Sequence[float], look: Data) -> None:
        self._keep(
            "text", {"zorder": 6, "color": INK, **look}, at=_numbers([x, y]), text=text, given_in=list(given_in),
            aside=[float(part) for part in aside], anchor=_HORIZONTALS[look.get("ha", "left")],
            upright=look.get("va", "baseline"), size=look.get("fontsize", _SIZE),
        )  # fmt: skip

    def _keep(self, kind: str, look: Data, **what: Any) -> None:
        dashes = look.get("ls", "-")
        self._items.append(
            {
                "kind": kind,
                "z": look.get("zorder", 2),
                "colour": look.get("color", GREY),
                "width": look.get("lw", 1.6),
                "dash": list(dashes[1]) if isinstance(dashes, tuple) else [],
                **what,
            }
        )


def _plain(value: float) -> str:
    return f"{value:g}"


def _numbers(values: ArrayLike) -> list[float | None]:
    """Six digits are finer than any screen; what is no number is a gap."""
    flat = np.asarray(values, dtype=float).ravel()
    return [float(f"{value:.6g}") if np.isfinite(value) else None for value in flat.tolist()]
