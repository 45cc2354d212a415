"""The screen at the shaker as a widget: what a person does comes as one message, what is shown goes as one view."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import anywidget
import traitlets

from vibcal_nb.notebook.shaker.regions import view_of_session
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.records.entry.open_table import open_elsewhere

_HERE = Path(__file__).parent


class Screen(anywidget.AnyWidget):
    """The screen of a session; ``view`` is all that it shows."""

    _esm = _HERE / "screen.js"
    _css = _HERE / "screen.css"
    view = traitlets.Dict().tag(sync=True)

    def __init__(self, session: Session, *, recordings: Path | None = None) -> None:
        self.session, self.recordings = session, recordings
        self._others: tuple[str, ...] = ()
        super().__init__(view=view_of_session(session))
        self.on_msg(self._receive)

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
        self.view = view_of_session(self.session, others=self._others)
