"""Figures as PNG: made, drawn and rendered without a window system and without global state."""

from __future__ import annotations

import io
from collections.abc import Callable
from types import MappingProxyType
from typing import Any

from vibcal_nb.display.style import FIGURE_WIDTH, RC, RECORD_DPI


def new_figure(height: float, *, layout: Any = "constrained") -> Any:
    """Return an empty figure that belongs to no window system and to no global state."""
    from matplotlib.figure import Figure

    return Figure(figsize=(FIGURE_WIDTH, height), layout=layout)


def render_png(figure: Any, *, dpi: int = RECORD_DPI) -> bytes:
    """Return the figure as PNG."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    buffer = io.BytesIO()
    figure.set_dpi(dpi)
    FigureCanvasAgg(figure).print_png(buffer, pil_kwargs={"compress_level": 3})
    return buffer.getvalue()


def drawn_png(
    height: float,
    draw: Callable[[Any], object],
    *,
    dpi: int = RECORD_DPI,
    layout: Any = "constrained",
    look: Any = MappingProxyType({}),
) -> bytes:
    """Return as PNG what ``draw`` draws into an empty figure of this height, in the one style; ``look`` changes it."""
    import matplotlib as mpl

    with mpl.rc_context({**RC, **look}):
        figure = new_figure(height, layout=layout)
        draw(figure)
        return render_png(figure, dpi=dpi)
