"""One figure drawn again and again while a person moves a control: only what changes is drawn anew.

Most of the time of a picture goes into the frame: ticks, their labels, titles, the layout. The frame is drawn
once, kept as an image, and laid under the curves and readings for as long as limits and labels stay.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from vibcal_nb.display.figures import HEIGHTS, draw_into, make_axes, new_figure
from vibcal_nb.display.style import RC, SCREEN_DPI


class LiveFigure:
    """A figure of results of one kind; `png` draws the next one."""

    def __init__(self, *, dpi: int = SCREEN_DPI) -> None:
        self._dpi = dpi
        self._axes: tuple[Any, ...] = ()
        self._canvas: Any = None
        self._frame: Any = None
        self._frame_key: object = None

    def png(self, result: Any) -> bytes:
        """Return the figure of a result as PNG."""
        import matplotlib as mpl

        with mpl.rc_context(RC):
            if self._canvas is None or len(self._axes) != _axes_needed(result):
                self._begin(result)
            for ax in self._axes:
                _clear(ax)
            draw_into(result, self._axes)
            self._lay_frame()
            for ax, artist in self._moving():
                ax.draw_artist(artist)
        return self._encoded()

    def _begin(self, result: Any) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        figure = new_figure(HEIGHTS[type(result)])
        figure.set_dpi(self._dpi)
        self._canvas, self._frame_key = FigureCanvasAgg(figure), None
        self._axes = make_axes(result, figure)
        draw_into(result, self._axes)
        self._canvas.draw()
        figure.set_layout_engine("none")  # places stay as they are, so that nothing jumps

    def _lay_frame(self) -> None:
        """Draw the frame where limits or labels are new, else lay the kept one."""
        key = [
            (ax.get_xlim(), ax.get_ylim(), ax.get_xscale(), ax.get_xlabel(), ax.get_ylabel(), ax.get_title("left"))
            for ax in self._axes
        ]
        if key != self._frame_key:
            for _, artist in self._moving():
                artist.set_visible(False)
            self._canvas.draw()
            self._frame, self._frame_key = self._canvas.copy_from_bbox(self._canvas.figure.bbox), key
            for _, artist in self._moving():
                artist.set_visible(True)
        self._canvas.restore_region(self._frame)

    def _moving(self) -> Iterator[tuple[Any, Any]]:
        for ax in self._axes:
            artists = [*ax.lines, *ax.collections, *ax.patches, *ax.texts]
            legend = ax.get_legend()
            for artist in sorted([*artists, *([legend] if legend else [])], key=lambda item: item.get_zorder()):
                yield ax, artist

    def _encoded(self) -> bytes:
        from PIL import Image

        size = self._canvas.get_width_height()
        picture = Image.frombuffer("RGBA", size, self._canvas.buffer_rgba(), "raw", "RGBA", 0, 1)
        buffer = io.BytesIO()
        picture.convert("RGB").save(buffer, "png", compress_level=1)  # speed before size: it goes to the screen
        return buffer.getvalue()


def _axes_needed(result: Any) -> int:
    return 2 * len(result.frequencies) if hasattr(result, "frequencies") else 1


def _clear(ax: Any) -> None:
    """Take off what results draw, and leave the axes, their ticks and labels."""
    for artist in [*ax.lines, *ax.collections, *ax.patches, *ax.texts]:
        artist.remove()
    ax.containers.clear()
    legend = ax.get_legend()
    if legend is not None:
        legend.remove()
    ax.set_prop_cycle(None)
