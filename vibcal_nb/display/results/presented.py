"""A result as it shows itself: in a cell, as a frame of its readings, and drawn into axes of one's own."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from html import escape
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.results.figures import alternative_text, draw_into, drawing_of, figure_png, make_axes
from vibcal_nb.display.results.verdict_html import verdict_html
from vibcal_nb.display.style import RC
from vibcal_nb.display.views import view_of

_WIDTH = 900


@dataclass(frozen=True)
class Presented:
    """What shows one result."""

    result: Result

    def html(self) -> str:
        """Return verdict and figure as HTML."""
        data = base64.b64encode(figure_png(self.result)).decode("ascii")
        text = escape(alternative_text(self.result))
        return f'{verdict_html(self.result)}<img alt="{text}" width="{_WIDTH}" src="data:image/png;base64,{data}">'

    def table(self) -> Any:
        """Return what was made of each reading as a pandas frame of numbers, units in the headings."""
        import pandas as pd

        return pd.DataFrame(view_of(self.result).columns(self.result))

    def plot(self, ax: Any = None) -> Any:
        """Draw with matplotlib: a whole figure, or into ``ax`` (a sequence of axes where the figure has several)."""
        import matplotlib as mpl
        from matplotlib.figure import Figure

        with mpl.rc_context(RC):
            if ax is not None:
                draw_into(self.result, ax if isinstance(ax, list | tuple) else [ax])
                return ax
            drawing = drawing_of(self.result)
            figure = Figure(figsize=(9.0, drawing.height(self.result)), layout="constrained")
            draw_into(self.result, make_axes(self.result, figure))
            return figure
