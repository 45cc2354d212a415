"""Finding a fault by hand: pick a channel, then touch its readings beside what explains them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.notebook.touch.faults import Cases, FaultSubject
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.notebook.touch.widget import touch_widget


class FaultPanel:
    """A list of channels above the panel of the one that is chosen.

    ``channels`` are the names to choose from, each with the folder of its visit and what loads its cases; ``panel`` is
    that of the one chosen.
    """

    def __init__(self, channels: Mapping[str, tuple[Path, Callable[[], Cases]]], *, first: str) -> None:
        import ipywidgets as widgets  # only where a person explores

        self._channels = channels
        self.channel = widgets.Dropdown(options=list(channels), value=first, description="channel")
        self._place = widgets.VBox([])
        self.widget = widgets.VBox([self.channel, self._place])
        self.panel = self._opened()
        self._show()
        self.channel.observe(lambda _: self._open(), names="value")

    def _opened(self) -> TouchPanel:
        visit, load = self._channels[self.channel.value]
        return TouchPanel(FaultSubject(load()), visit=visit)

    def _open(self) -> None:
        self.panel = self._opened()
        self._show()

    def _show(self) -> None:
        widget: Any = touch_widget(self.panel)
        self._place.children = (widget,)
