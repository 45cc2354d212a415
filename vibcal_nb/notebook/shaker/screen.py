"""The screen at the shaker as a widget: what a person does comes as one message, what is shown goes as one view."""

from __future__ import annotations

import asyncio
from functools import cache
from pathlib import Path
from typing import Any

from vibcal_nb.notebook.shaker.regions import view_of_session
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.notebook.shaker.watching import Watch
from vibcal_nb.records.entry.open_table import open_elsewhere

_HERE = Path(__file__).parent


def _running_loop() -> asyncio.AbstractEventLoop | None:
    """Return the loop of the kernel; None where there is none, as in a test."""
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


@cache
def _widget_class() -> type[Any]:
    import anywidget  # only where somebody types readings
    import traitlets

    class ShakerScreen(anywidget.AnyWidget):  # type: ignore[misc, unused-ignore]
        _esm = _HERE / "screen.js"
        _css = _HERE / "screen.css"
        view = traitlets.Dict().tag(sync=True)

    return ShakerScreen


class Screen:
    """The screen of a session; ``widget`` is what a notebook displays, and its ``view`` all that it shows."""

    def __init__(self, session: Session, *, recordings: Path | None = None) -> None:
        self.session = session
        session.recordings = recordings
        self._others: tuple[str, ...] = ()
        self.widget: Any = _widget_class()(view=view_of_session(session))
        self.widget.on_msg(self._receive)
        self._loop = _running_loop()
        self.watch = None if recordings is None else Watch(recordings, self._came)

    def _came(self, path: Path) -> None:
        """A file came: what is shown is changed where messages are dealt with, and nowhere else."""
        if self._loop is None:
            self._offer(path)
        else:
            self._loop.call_soon_threadsafe(self._offer, path)

    def _offer(self, path: Path) -> None:
        if self.session.offer(path):
            self._show()

    def _receive(self, _: Any, content: Any, __: Any) -> None:
        """Do what a person did; a message that is none is left alone."""
        if not isinstance(content, dict) or not isinstance(content.get("act"), str):
            return
        values = {str(name): value for name, value in content.items() if name != "act"}
        if content["act"] == "look":
            self._look()
            return
        self.session.do(content["act"], **values)
        self._show()

    def _look(self) -> None:
        """See what other programs did meanwhile; show it only where there is anything new."""
        table = self.session.visit.table
        others = [other.sentence for other in table.others()]
        spreadsheet = open_elsewhere(table.path)
        said = (*others, *([spreadsheet] if spreadsheet else []))
        if self.session.look() or said != self._others:
            self._others = said
            self._show()

    def _show(self) -> None:
        self.widget.view = view_of_session(self.session, others=self._others)
