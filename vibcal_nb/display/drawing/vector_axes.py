"""Axes that write SVG by themselves: what `plots` asks of matplotlib's axes, at a tenth of the time.

A sheet's figure holds a few hundred numbers; matplotlib spends most of its time on finding out how large ticks and
texts are. Here margins are fixed. Lengths are in points; the y of a page grows downwards, that of a plot upwards.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

import numpy as np

from vibcal_nb.arrays import FloatArray
from vibcal_nb.display.drawing.vector_legend import LegendEntry, legend_svg
from vibcal_nb.display.drawing.vector_marks import FONT, LINE_SCALE, mark_svg, number_text, stroke_svg, text_svg, ticks
from vibcal_nb.display.style import FAINT, GRID, INK

TEXT_SCALE = 0.8  # of the sizes that the plots name, which are those of a screen
LABELS_BELOW = 22.0  # points that numbers and name of x take
_FAR = 1e4  # points; nothing is drawn farther off


@dataclass(kw_only=True)
class VectorAxes:
    """One plot within a page: ``left``, ``top``, ``width`` and ``height`` of its frame, in points."""

    left: float
    top: float
    width: float
    height: float
    numbered: bool = True
    _drawn: list[tuple[float, Callable[[], str]]] = field(default_factory=list)
    _entries: list[LegendEntry] = field(default_factory=list)
    _limits: dict[str, tuple[float, float]] = field(default_factory=lambda: {"x": (0.0, 1.0), "y": (0.0, 1.0)})
    _logarithmic: bool = False
    _texts: dict[str, str] = field(default_factory=dict)
    _legend: str | None = None

    def set(
        self,
        *,
        xlim: tuple[float, float] | None = None,
        ylim: tuple[float, float] | None = None,
        xscale: str | None = None,
    ) -> None:
        """Set the limits, in the plot's units, and the scale of x (``log`` or None)."""
        for name, pair in (("x", xlim), ("y", ylim)):
            if pair is not None:
                self._limits[name] = (float(pair[0]), float(pair[1]))
        self._logarithmic = self._logarithmic or xscale == "log"

    def set_ylim(self, bottom: float, top: float) -> None:
        """Set the limits of y."""
        self._limits["y"] = (float(bottom), float(top))

    def set_title(self, text: str) -> None:
        """Put a title above the plot's left end."""
        self._texts["title"] = text

    def set_xlabel(self, text: str) -> None:
        """Name x."""
        self._texts["x"] = text

    def set_ylabel(self, text: str) -> None:
        """Name y."""
        self._texts["y"] = text

    def get_xaxis_transform(self) -> str:
        """Return what `text` takes for: x in the plot's unit, y as the share of its height."""
        return "share of height"

    def legend(self, *, loc: str, ncols: int = 1) -> None:
        """Put a legend of one column at ``upper left``; one of more columns goes below the plot, off the readings."""
        self._legend = loc if ncols == 1 else "below"

    def plot(self, x: Any, y: Any, **style: Any) -> None:
        """Draw a line or markers; styles as matplotlib names them."""
        marker = style.get("marker")
        if marker is None:
            self._line(x, y, style)
        else:
            self._marks(x, y, marker, style)

    def _line(self, x: Any, y: Any, style: dict[str, Any]) -> None:
        stroke = stroke_svg(style)
        self._remember(style, stroke=stroke)
        self._add(style, lambda: f'<polyline points="{self._points(x, y)}" fill="none" {stroke}/>')

    def _marks(self, x: Any, y: Any, marker: str, style: dict[str, Any]) -> None:
        size = LINE_SCALE * style.get("ms", 6.0)
        self._remember(style, marker=(marker, style["color"], size))
        self._add(
            style,
            lambda: "".join(
                mark_svg(marker, px, py, size, style["color"]) for px, py in zip(*self._place(x, y), strict=True)
            ),
        )

    def errorbar(self, x: Any, y: Any, *, yerr: Any, elinewidth: float, capsize: float, **style: Any) -> None:
        """Draw markers with bars of ``yerr`` up and down (``capsize`` 0: without caps)."""
        bar = stroke_svg({"color": style["color"], "lw": elinewidth})
        bars = [([at, at], [middle - half, middle + half]) for at, middle, half in zip(x, y, yerr, strict=True)]
        self._add(
            style,
            lambda: "".join(f'<polyline points="{self._points(*ends)}" fill="none" {bar}/>' for ends in bars),
        )
        self._marks(x, y, style["marker"], style)

    def fill_between(self, x: Any, lower: Any, upper: Any, **style: Any) -> None:
        """Fill the area between two curves over ``x``."""
        x = np.asarray(x, dtype=float)
        outline = np.append(x, x[::-1])
        edge = np.append(np.broadcast_to(lower, x.shape), np.broadcast_to(upper, x.shape)[::-1])
        paint = f'fill="{style["color"]}" fill-opacity="{style.get("alpha", 1.0):g}"'
        self._remember(style, fill=paint)
        self._add({"zorder": 1}, lambda: f'<polygon points="{self._points(outline, edge)}" {paint}/>')

    def axhspan(self, lower: float, upper: float, **style: Any) -> None:
        """Fill the plot's width between two values of y."""
        self._add({"zorder": 1}, lambda: self._span(lower, upper, style))

    def _span(self, lower: float, upper: float, style: dict[str, Any]) -> str:
        points = self._points([*self._limits["x"], *self._limits["x"][::-1]], [lower, lower, upper, upper])
        return f'<polygon points="{points}" fill="{style["color"]}" fill-opacity="{style.get("alpha", 1.0):g}"/>'

    def axhline(self, y: float, **style: Any) -> None:
        """Draw a line across the plot."""
        self._add(
            style,
            lambda: f'<polyline points="{self._points(self._limits["x"], [y, y])}" fill="none" {stroke_svg(style)}/>',
        )

    def axvline(self, x: float, **style: Any) -> None:
        """Draw a line from the plot's bottom to its top."""
        self._add(
            style,
            lambda: f'<polyline points="{self._points([x, x], self._limits["y"])}" fill="none" {stroke_svg(style)}/>',
        )

    def text(self, x: float, share: float, text: str, **style: Any) -> None:
        """Write at ``x``, in the plot's unit, and a share of its height from the bottom."""
        anchor = {"center": "middle", "left": "start"}[style["ha"]]
        size = TEXT_SCALE * style["fontsize"]

        def write() -> str:
            (px,), _ = self._place([x], [self._limits["y"][0]])
            py = self.top + self.height * (1.0 - share) - 1.0
            return text_svg(px, py, text.strip() if anchor == "middle" else text, size=size, anchor=anchor)

        self._drawn.append((9.0, write))

    def svg(self, name: str) -> str:
        """Return all that was drawn as SVG; ``name`` tells this plot from the page's others."""
        clip = (
            f'<clipPath id="{name}"><rect x="{self.left:.2f}" y="{self.top:.2f}" width="{self.width:.2f}" '
            f'height="{self.height:.2f}"/></clipPath>'
        )
        ordered = sorted(self._drawn, key=lambda pair: pair[0])
        inside = "".join(draw() for order, draw in ordered if order < 9.0)
        above = "".join(draw() for order, draw in ordered if order >= 9.0)
        return f'{clip}{self._frame()}<g clip-path="url(#{name})">{inside}</g>{above}{self._legend_svg()}'

    def _legend_svg(self) -> str:
        if self._legend is None or not self._entries:
            return ""
        size = TEXT_SCALE * 8.5
        if self._legend == "upper left":
            return legend_svg(self._entries, left=self.left + 4.0, top=self.top + 3.0, width=1.0, size=size)
        below = self.top + self.height + LABELS_BELOW
        return legend_svg(self._entries, left=self.left, top=below, width=self.width, size=size)

    def _frame(self) -> str:
        bottom, right, size = self.top + self.height, self.left + self.width, TEXT_SCALE * 9.5
        parts = []
        for value in ticks(
            *self._limits["x"],
            most=max(3, int(self.width / (22 if self._logarithmic else 32))),
            logarithmic=self._logarithmic,
        ):
            (px,), _ = self._place([value], [self._limits["y"][0]])
            parts.append(f'<path d="M{px:.2f} {self.top:.2f}V{bottom:.2f}" stroke="{GRID}" stroke-width="0.5"/>')
            if self.numbered:
                parts.append(text_svg(px, bottom + size + 1.0, number_text(value), size=size, anchor="middle"))
        for value in ticks(*self._limits["y"], most=max(4, int(self.height / 18))):
            _, (py,) = self._place([self._limits["x"][0]], [value])
            parts.append(f'<path d="M{self.left:.2f} {py:.2f}H{right:.2f}" stroke="{GRID}" stroke-width="0.5"/>')
            parts.append(text_svg(self.left - 3.0, py + 0.36 * size, number_text(value), size=size, anchor="end"))
        parts.append(
            f'<path d="M{self.left:.2f} {self.top:.2f}V{bottom:.2f}H{right:.2f}" fill="none" stroke="{FAINT}" '
            'stroke-width="0.6"/>'
        )
        return "".join(parts) + self._names(size)

    def _names(self, size: float) -> str:
        middle, bottom = self.left + 0.5 * self.width, self.top + self.height
        found = []
        if "title" in self._texts:
            found.append(text_svg(self.left, self.top - 4.0, self._texts["title"], size=1.1 * size, anchor="start"))
        if "x" in self._texts:
            found.append(text_svg(middle, bottom + 2.3 * size + 1.0, self._texts["x"], size=size, anchor="middle"))
        if "y" in self._texts:
            x, y = self.left - 27.0, self.top + 0.5 * self.height
            found.append(
                f'<text transform="translate({x:.2f} {y:.2f}) rotate(-90)" font-family="{FONT}" font-size="{size:.2f}" '
                f'text-anchor="middle" fill="{INK}">{escape(self._texts["y"])}</text>'
            )
        return "".join(found)

    def _add(self, style: dict[str, Any], draw: Callable[[], str]) -> None:
        self._drawn.append((float(style.get("zorder", 2.0)), draw))

    def _remember(self, style: dict[str, Any], **look: Any) -> None:
        if style.get("label"):
            self._entries.append(LegendEntry(text=style["label"], **look))

    def _points(self, x: Any, y: Any) -> str:
        return " ".join(f"{px:.2f},{py:.2f}" for px, py in zip(*self._place(x, y), strict=True))

    def _place(self, x: Any, y: Any) -> tuple[Sequence[float], Sequence[float]]:
        """Return page coordinates of points, those that are no numbers left out."""
        (low, high), (bottom, top) = self._limits["x"], self._limits["y"]
        across, up = _flat(x), _flat(y)
        if self._logarithmic:
            across, (low, high) = np.log10(across), (math.log10(low), math.log10(high))
        px = self.left + self.width * (across - low) / (high - low)
        py = self.top + self.height * (top - up) / (top - bottom)
        sound = np.isfinite(px) & np.isfinite(py)
        return np.clip(px[sound], -_FAR, _FAR).tolist(), np.clip(py[sound], -_FAR, _FAR).tolist()


def _flat(values: Any) -> FloatArray:
    array: FloatArray = np.atleast_1d(np.asarray(values, dtype=float))
    return array


def page_svg(axes: Iterable[VectorAxes], *, width: float, height: float) -> str:
    """Return a page of plots as SVG, its size in points."""
    body = "".join(ax.svg(f"plot{number}") for number, ax in enumerate(axes))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}pt" height="{height:g}pt" '
        f'viewBox="0 0 {width:g} {height:g}">{body}</svg>'
    )
