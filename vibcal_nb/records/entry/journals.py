"""All journals of a visit together: which rows its table must hold, and what was changed in them since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.read_readings import COLUMNS
from vibcal_nb.records.entry.journal import ACCEPT, CHANGE, ENDING, ENTER, FOLDER, Event, JournalFile, read_journal
from vibcal_nb.records.entry.keys import Key, key_of


@dataclass(frozen=True, kw_only=True)
class Entered:
    """A reading that was entered: its cells by column, when, and the planned row that it fills, where there is one."""

    key: Key
    cells: Mapping[str, str]
    at: str
    fills: Key | None = None


@dataclass(kw_only=True)
class Wanted:
    """What the table must hold: ``entered`` by key, and by key and column every text that a cell had, the last now."""

    entered: dict[Key, Entered] = field(default_factory=dict)
    changed: dict[Key, dict[str, list[str]]] = field(default_factory=dict)

    def cells_of(self, entered: Entered) -> dict[str, str]:
        """Return the cells of a row as they are to be now."""
        now = {column: texts[-1] for column, texts in self.changed.get(entered.key, {}).items()}
        return {**entered.cells, **now}

    def add(self, event: Event) -> None:
        """Add an event; one that says nothing that can be used is left out."""
        act = {ENTER: self._enter, CHANGE: self._change, ACCEPT: self._accept}.get(event["do"])
        if act is not None:
            act(event)

    def _enter(self, event: Event) -> None:
        cells = _cells(event.get("row"))
        if cells:
            key = key_of(cells)
            self.entered[key] = Entered(key=key, cells=cells, at=event["at"], fills=_key(event.get("fills")))

    def _change(self, event: Event) -> None:
        key, column = _key(event.get("key")), event.get("column")
        texts = event.get("was"), event.get("now")
        if key and column in COLUMNS and all(isinstance(text, str) for text in texts):
            known = self.changed.setdefault(key, {}).setdefault(str(column), [])
            known += [str(texts[0]), str(texts[1])]

    def _accept(self, event: Event) -> None:
        self.entered.pop(_key(event.get("key")) or (), None)


def wanted_by(journals: Iterable[JournalFile]) -> Wanted:
    """Return what all journals together want, what happened first coming first."""
    wanted = Wanted()
    events = [event for journal in journals for event in journal.events]
    for event in sorted(events, key=lambda event: str(event["at"])):
        wanted.add(event)
    return wanted


def journal_paths(visit_folder: Path) -> list[Path]:
    """Return the journals of a visit, the oldest first."""
    folder = visit_folder / FOLDER
    return sorted(folder.glob(f"*{ENDING}")) if folder.is_dir() else []


class OtherJournals:
    """The journals of other programs; each is read anew where it has grown."""

    def __init__(self, visit_folder: Path) -> None:
        self.visit_folder = visit_folder
        self.own: Path | None = None
        self._read: dict[Path, tuple[int, JournalFile]] = {}

    def read(self) -> tuple[JournalFile, ...]:
        """Return them as they stand; one that cannot be read counts as one unreadable line."""
        found = []
        for path in journal_paths(self.visit_folder):
            if path == self.own:
                continue
            try:
                size = path.stat().st_size
                if path not in self._read or self._read[path][0] != size:
                    self._read[path] = size, read_journal(path)
                found.append(self._read[path][1])
            except OSError:
                found.append(JournalFile(path=path, events=(), unreadable=1))
        return tuple(found)


def _cells(row: Any) -> dict[str, str]:
    """The cells of a row by column of the contract; nothing where it is none."""
    if not isinstance(row, dict) or not row.get("channel"):
        return {}
    texts = all(isinstance(name, str) and isinstance(cell, str) for name, cell in row.items())
    return dict(row) if texts and set(row) <= set(COLUMNS) else {}


def _key(value: Any) -> Key | None:
    return tuple(map(str, value)) if isinstance(value, list | tuple) else None
