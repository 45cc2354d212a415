"""A result as it shows itself: in a cell, as a frame of its readings, and drawn into axes of one's own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.drawing.picture import new_figure
from vibcal_nb.display.results.figures import draw_into, drawing_of, make_axes, result_picture
from vibcal_nb.display.results.verdict_html import verdict_html
from vibcal_nb.display.style import RC
from vibcal_nb.display.views import view_of


@dataclass(frozen=True)
class Presented:
    """What shows one result."""

    result: Result

    def html(self) -> str:
        """Return verdict and figure as HTML."""
        return verdict_html(self.result) + result_picture(self.result).to_html()

    def table(self) -> Any:
        """Return what was made of each reading as a pandas frame of numbers, units in the headings."""
        import pandas as pd

        return pd.DataFrame(view_of(self.result).columns(self.result))

    def plot(self, ax: Any = None) -> Any:
        """Draw with matplotlib: a whole figure, or into ``ax`` (a sequence of axes where the figure has several)."""
        import matplotlib as mpl

        with mpl.rc_context(RC):
            if ax is not None:
                draw_into(self.result, ax if isinstance(ax, list | tuple) else [ax])
                return ax
            figure = new_figure(drawing_of(self.result).height(self.result))
            draw_into(self.result, make_axes(self.result, figure))
            return figure
