"""One figure drawn again and again while a person moves a control: only what changes is drawn anew.

Most of the time of a picture goes into ticks, labels, titles and legends. The frame is drawn once, kept
as an image and laid under the curves and readings; legends and other texts are kept as images and laid over them.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.display.drawing.picture import new_figure
from vibcal_nb.display.drawing.screen_png import encode_png
from vibcal_nb.display.results.figures import draw_into, drawing_of, make_axes
from vibcal_nb.display.style import SCREEN_DPI, one_style

Axes = Any
Patch = tuple[int, int, NDArray[np.uint8]]  # left, bottom and picture, its lowest row first
FRAMES_KEPT = 8  # of 2 MB each
PATCHES_KEPT = 64


class LiveFigure:
    """A figure that is drawn again and again; `png` and `drawn` draw the next one."""

    def __init__(self, *, dpi: int = SCREEN_DPI) -> None:
        self._dpi = dpi
        self._shape: Hashable = None
        self._axes: Sequence[Axes] = ()
        self._canvas: Any = None
        self._frames: OrderedDict[Hashable, Any] = OrderedDict()
        self._patches: OrderedDict[Hashable, Patch] = OrderedDict()

    def png(self, result: Any) -> bytes:
        """Return the figure of a result as PNG."""
        drawing = drawing_of(result)
        return self.drawn(
            (type(result), drawing.columns(result), drawing.height(result)),
            drawing.height(result),
            partial(make_axes, result),
            partial(draw_into, result),
        )

    def drawn(
        self,
        shape: Hashable,
        height: float,
        make: Callable[[Any], Sequence[Axes]],
        draw: Callable[[Sequence[Axes]], object],
    ) -> bytes:
        """Return as PNG what ``draw`` draws into the axes that ``make`` makes; where ``shape`` is new they are made."""
        with one_style():
            if shape != self._shape:
                self._begin(height, make, draw)
                self._shape = shape
            for ax in self._axes:
                _clear(ax)
            draw(self._axes)
            self._lay_frame()
            for ax in self._axes:
                for artist in _moving(ax):
                    ax.draw_artist(artist)
            for key, artist in self._over():
                self._lay_over(key, artist)
        return encode_png(np.asarray(self._canvas.buffer_rgba()))

    def _begin(self, height: float, make: Any, draw: Any) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        figure = new_figure(height)
        figure.set_dpi(self._dpi)
        self._canvas = FigureCanvasAgg(figure)
        self._frames.clear()
        self._patches.clear()
        self._axes = make(figure)
        for ax in self._axes:
            ax.legend = partial(_name_marks, ax, ax.legend)

    def _lay_frame(self) -> None:
        """Lay the frame under what moves; it is drawn where limits or labels are new."""
        key = tuple(
            (
                ax.get_xlim(),
                ax.get_ylim(),
                ax.get_xscale(),
                ax.get_xlabel(),
                ax.get_ylabel(),
                ax.get_title("left"),
                ax.get_title("right"),
            )
            for ax in self._axes
        )
        if key in self._frames:
            self._canvas.restore_region(self._frames[key])
        else:
            self._draw_frame()
            self._frames[key] = self._canvas.copy_from_bbox(self._canvas.figure.bbox)
        _keep_latest(self._frames, key, FRAMES_KEPT)

    def _draw_frame(self) -> None:
        hidden = [artist for ax in self._axes for artist in _moving(ax)] + [artist for _, artist in self._over()]
        for artist in hidden:
            artist.set_visible(False)
        self._canvas.draw()
        for artist in hidden:
            artist.set_visible(True)

    def _over(self) -> Iterator[tuple[Hashable, Any]]:
        """Texts and legends, with what their looks depend on: a legend's marks look alike where its names do."""
        for ax in self._axes:
            for text in ax.texts:
                place = text.get_transform().transform(text.get_position())
                at = ax.transData.transform(getattr(text, "xy", (0.0, 0.0)))  # what an annotation stands beside
                yield (text.get_text(), *np.round([*place, *at], 3), text.get_fontsize(), text.get_color()), text
        for owner in (*self._axes, self._canvas.figure):
            for legend in legends_of(owner):
                yield (id(owner), *(text.get_text() for text in legend.get_texts())), legend

    def _lay_over(self, key: Hashable, artist: Any) -> None:
        renderer = self._canvas.get_renderer()
        if key not in self._patches:
            self._patches[key] = self._patch(artist)
        _keep_latest(self._patches, key, PATCHES_KEPT)
        left, bottom, picture = self._patches[key]
        context = renderer.new_gc()
        renderer.draw_image(context, left, bottom, picture)
        context.restore()

    def _patch(self, artist: Any) -> Patch:
        """Draw an artist alone, on nothing."""
        from matplotlib.backends.backend_agg import RendererAgg

        width, height = self._canvas.get_width_height()
        alone = RendererAgg(width, height, self._dpi)
        artist.draw(alone)
        pixels = np.asarray(alone.buffer_rgba())
        rows, columns = np.flatnonzero(pixels[..., 3].any(axis=1)), np.flatnonzero(pixels[..., 3].any(axis=0))
        if not rows.size:
            return 0, 0, np.zeros((1, 1, 4), dtype=np.uint8)
        top, left, below = int(rows[0]), int(columns[0]), int(rows[-1]) + 1
        picture = pixels[top:below, left : int(columns[-1]) + 1]
        return left, height - below, np.ascontiguousarray(picture[::-1])


def _name_marks(ax: Axes, put_up: Callable[..., Any], **place: Any) -> Any:
    """Put up the legend; one that says the same stays, because making it takes as long as all curves."""
    legend, (_, labels) = ax.get_legend(), ax.get_legend_handles_labels()
    if legend is None or [text.get_text() for text in legend.get_texts()] != labels:
        legend = put_up(**place)
    return legend


def legends_of(owner: Any) -> list[Any]:
    """The legends of axes or of a figure."""
    if hasattr(owner, "legends"):
        return list(owner.legends)
    return [owner.get_legend()] if owner.get_legend() is not None else []


def _moving(ax: Axes) -> list[Any]:
    return sorted([*ax.lines, *ax.collections, *ax.patches], key=lambda artist: float(artist.get_zorder()))


def _keep_latest(kept: OrderedDict[Hashable, Any], key: Hashable, most: int) -> None:
    kept.move_to_end(key)
    while len(kept) > most:
        kept.popitem(last=False)


def _clear(ax: Axes) -> None:
    """Take off what results draw, and leave the axes, their ticks, labels and the legend."""
    for artist in [*ax.lines, *ax.collections, *ax.patches, *ax.texts]:
        artist.remove()
    ax.containers.clear()
    ax.set_prop_cycle(None)
