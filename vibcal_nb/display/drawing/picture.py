"""A picture: drawn once by matplotlib, as SVG, the same in notebook, page and report, with its text in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from types import MappingProxyType
from typing import Any

from vibcal_nb.display.style import DARK, FIGURE_WIDTH, one_style

SHOWN_WIDTH = 900  # pixels of a page
_POINTS = 72.0  # an inch
DATA = "data:image/svg+xml,"
_ESCAPES = str.maketrans({"%": "%25", "#": "%23", "<": "%3C", ">": "%3E", '"': "'"})


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A picture as SVG, and in words (``text``) for whoever does not see it."""

    svg: str
    text: str

    def to_html(self) -> str:
        """Return the picture as an image within a page.

        An image and not the SVG itself, of which JupyterLab leaves the letters alone where a notebook is not
        trusted; its colours follow the page's (``color-scheme``) all the same.
        """
        return f'<img alt="{escape(self.text)}" width="{SHOWN_WIDTH}" src="{escape(DATA + self._quoted())}">'

    def _quoted(self) -> str:
        return self.svg.translate(_ESCAPES)


def new_figure(height: float) -> Any:
    """Return an empty figure, ``height`` inches high, that belongs to no window system and to no global state."""
    from matplotlib.figure import Figure

    return Figure(figsize=(FIGURE_WIDTH, height), dpi=_POINTS)


def draw_picture(
    height: float, draw: Callable[[Any], object], *, text: str, look: Any = MappingProxyType({})
) -> Picture:
    """Return what ``draw`` draws into an empty figure, ``height`` inches high; ``look`` changes the one style."""
    with one_style(look):
        figure = new_figure(height)
        draw(figure)
        return Picture(svg=figure_svg(figure), text=text)


def figure_svg(figure: Any) -> str:
    """Return a figure of matplotlib as SVG; it comes with its letters."""
    from matplotlib.backend_bases import FigureCanvasBase

    from vibcal_nb.display.drawing.lettering import FAMILY, letters_style
    from vibcal_nb.display.drawing.svg_canvas import SvgCanvas

    FigureCanvasBase(figure)
    width, height = figure.get_size_inches() * _POINTS
    canvas = SvgCanvas(width, height, dark=DARK, family=FAMILY)
    figure.draw(canvas)
    return canvas.svg(letters_style(canvas.characters))
