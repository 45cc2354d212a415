"""The panel: takes what a person does, one action at a time, and tells what is to be seen. It knows no widget."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.display.results.view import Control
from vibcal_nb.model.case import EXPLORATION
from vibcal_nb.notebook.touch.exploration import Exploration, Stand
from vibcal_nb.notebook.touch.kept import Kept
from vibcal_nb.notebook.touch.shown import control_data, shown
from vibcal_nb.notebook.touch.subject import AnyControl, Choice, Data, Outcome, Subject
from vibcal_nb.problems import NotDone, Refused

LONGEST_REASON = 300  # characters
_LEAST = 1e-3  # of a limit: one of nothing can be judged by nothing


class TouchPanel:
    """What a person explores.

    ``record`` is what the record shows and is not touched; ``outcome`` is what is seen, ``stand`` where it stands;
    ``said`` is why the last action was not done, empty where it was. Findings are kept in the folder ``visit``; without
    one none are, and ``kept`` says where the last one is.
    """

    def __init__(self, subject: Subject, *, visit: Path | None = None) -> None:
        self.subject = subject
        self.findings = None if visit is None else Kept(visit, subject)
        self.kept = ""
        self.record: Outcome = subject.begun()
        self.outcome = self.record
        self.exploration = Exploration.begun(subject.record)
        self.said = ""
        self._by_name = {control.name: control for control in subject.controls}

    @property
    def stand(self) -> Stand:
        """Where it stands."""
        return self.exploration.stand

    @property
    def result(self) -> Any:
        """What is seen was made of."""
        return self.outcome.result

    def fixed(self) -> Data:
        """Return what does not change: the controls, the record's figure, the units of levels."""
        return {
            "controls": [control_data(control) for control in self.subject.controls],
            "behind": self.record.figure,
            "units": self.subject.units,
            "keeps": self.findings is not None,
        }

    def seen(self) -> Data:
        """Return what is to be seen as the panel stands."""
        seen = shown(self.subject, self.outcome, self.record, self.exploration)
        findings = [] if self.findings is None else self.findings.data()
        return seen | {"said": self.said, "kept": self.kept, "findings": findings}

    def reasons(self) -> str:
        """Return why the answer is so, as HTML; it takes longer than the rest."""
        return self.outcome.reasons()

    def do(self, action: Mapping[str, Any]) -> None:
        """Do what a person did. What cannot be done changes nothing, and ``said`` says why."""
        self.said = self.kept = ""
        try:
            self._go(self._after(action))
        except Refused as refused:
            self.said = str(refused)

    def _go(self, exploration: Exploration) -> None:
        if exploration.stand != self.stand:
            at_record = exploration.is_record
            self.outcome = self.record if at_record else self.subject.at(exploration.stand)
        self.exploration = exploration

    def _after(self, action: Mapping[str, Any]) -> Exploration:
        at = self.exploration
        kind, name, stroke = (str(action.get(key) or "") for key in ("do", "name", "stroke"))
        steps: dict[str, Callable[[], Exploration]] = {
            "set": lambda: at.set(name, self._checked(name, action.get("value")), stroke=stroke),
            "leave out": lambda: at.leave_out(self._row(action), _reason(action) or EXPLORATION),
            "take back": lambda: self._taken_back(self._row(action), _reason(action)),
            "undo": at.undo,
            "redo": at.redo,
            "record": at.to_record,
            "keep": lambda: self._keep(action),
            "open": lambda: at.to_stand(self._kept().stand_of(action.get("finding"), self._checked)),
        }
        if kind not in steps:
            raise NotDone(f"there is no action {kind[:40]!r}")
        return steps[kind]()

    def _taken_back(self, row: int, reason: str) -> Exploration:
        filed = self.exploration.record.left_out.get(row)
        if filed is not None and not reason:
            raise NotDone(f"Row {row} is left out by the file ({filed}). To use it all the same, write a reason.")
        return self.exploration.take_back(row, reason)

    def _kept(self) -> Kept:
        if self.findings is None:
            raise NotDone("Findings are kept of a visit's readings alone.")
        return self.findings

    def _keep(self, action: Mapping[str, Any]) -> Exploration:
        seen = shown(self.subject, self.outcome, self.record, self.exploration)
        self.kept = self._kept().keep(action, self.stand, seen, self.outcome.further)
        return self.exploration

    def _row(self, action: Mapping[str, Any]) -> int:
        row = action.get("row")
        if not isinstance(row, int) or row not in self.subject.rows:
            raise NotDone(f"there is no reading in row {str(row)[:40]}")
        return row

    def _control(self, name: str) -> AnyControl:
        if name not in self._by_name:
            raise NotDone(f"there is no control {name[:40]!r}")
        return self._by_name[name]

    def _checked(self, name: str, value: Any) -> Any:
        """Return a value that a control can have. Raises ``NotDone``."""
        control = self._control(name)
        if isinstance(control, Choice):
            if value not in [meant for _, meant in control.options]:
                raise NotDone(f"{control.label}: {str(value)[:40]} is none of the choices.")
            return value
        if control.kind == "range":
            pair = value if isinstance(value, list | tuple) and len(value) == 2 else (value, value)
            return tuple(sorted(_number(control, part) for part in pair))
        number = _number(control, value)
        if number < _LEAST:
            raise NotDone(f"{control.label}: {number:g} is too small; give {_LEAST:g} at least.")
        return number


def _number(control: Control, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) or abs(value) > 1e6:
        raise NotDone(f"{control.label}: {str(value)[:40]!r} cannot be used; give a number.")
    return float(value)


def _reason(action: Mapping[str, Any]) -> str:
    """A browser may send half a character, which no file can hold; a mark that it was there takes its place."""
    text = str(action.get("reason") or "").strip()[:LONGEST_REASON]
    return text.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
