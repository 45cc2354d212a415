"""A result as it shows itself: in a cell, as a frame of its readings, and drawn into axes of one's own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.card.card import card_html, card_of
from vibcal_nb.display.drawing.picture import new_figure
from vibcal_nb.display.results.figures import draw_into, drawing_of, make_axes, result_picture
from vibcal_nb.display.style import one_style
from vibcal_nb.display.views import view_of
from vibcal_nb.problems import ParameterError


@dataclass(frozen=True)
class Presented:
    """What shows one result."""

    result: Result

    def html(self) -> str:
        """Return the card and the figure as HTML."""
        return card_html(card_of(self.result)) + result_picture(self.result).to_html()

    def table(self) -> Any:
        """Return what was made of each reading as a pandas frame of numbers, units in the headings."""
        import pandas as pd

        return pd.DataFrame(view_of(self.result).columns(self.result))

    def plot(self, ax: Any = None) -> Any:
        """Draw with matplotlib: a whole figure, or into ``ax`` (as many axes as the figure has, from the top left).

        Raises ``ParameterError`` where they are not as many.
        """
        with one_style():
            figure = new_figure(drawing_of(self.result).height(self.result))
            own = make_axes(self.result, figure)
            given = own if ax is None else list(ax) if hasattr(ax, "__iter__") else [ax]
            if len(given) != len(own):
                raise ParameterError(f"The figure has {len(own)} axes, and {len(given)} were given; give {len(own)}.")
            draw_into(self.result, given)
            return figure if ax is None else ax
