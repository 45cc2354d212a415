"""Who else is entering readings into the visit: programs whose journals are still kept open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.records.entry.journal import CLOSED, ENTER, OPENED, JournalFile

SILENT_SECONDS = 60.0
"""A program that has not shown itself for so long is gone, or its machine is; it shows itself four times in that."""


@dataclass(frozen=True, kw_only=True)
class Other:
    """Another program at the visit: its machine, who, and its last reading by column, None before the first."""

    machine: str
    by: str
    last: dict[str, str] | None
    here: bool

    @property
    def sentence(self) -> str:
        """Say so to the person at this screen."""
        where = "another window of this machine" if self.here else self.machine
        who = f" ({self.by})" if self.by else ""
        if self.last is None:
            return f"{where}{who} has this visit open, too, and has entered nothing yet."
        at = " ".join(self.last.get(name, "") for name in ("channel", "test", "frequency_hz")).strip()
        return f"{where}{who} is entering into this visit, too; the last reading there: {at} Hz."


def others_at(journals: Iterable[JournalFile], *, now: float, machine: str) -> tuple[Other, ...]:
    """Return the programs that are at the visit ``now``, in seconds as the share counts on which the journals are."""
    found = []
    for journal in journals:
        opened = next((event for event in journal.events if event["do"] == OPENED), None)
        closed = any(event["do"] == CLOSED for event in journal.events)
        if opened is None or closed or not _shows_itself(journal.path, now):
            continue
        entered = [event["row"] for event in journal.events if event["do"] == ENTER and isinstance(event["row"], dict)]
        name = str(opened.get("machine", ""))
        last = {str(column): str(cell) for column, cell in entered[-1].items()} if entered else None
        found.append(Other(machine=name, by=str(opened.get("by", "")), last=last, here=name == machine))
    return tuple(found)


def _shows_itself(path: Path, now: float) -> bool:
    try:
        return now - path.stat().st_mtime < SILENT_SECONDS
    except OSError:
        return False
