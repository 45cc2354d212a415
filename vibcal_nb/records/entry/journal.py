"""What was entered, line by line, on the disk before anything else is done: one journal a program, written by no other.

A line is a JSON object with its own check sum. A line that was cut off as it was written does not count, and stands in
the way of none that follows.
"""

from __future__ import annotations

import errno
import json
import os
import re
import socket
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import make_folder, sync_folder

FOLDER = "readings.journal"
ENDING = ".jsonl"
MOST_BYTES = 50_000_000

ENTER, CHANGE, ACCEPT, OPENED, CLOSED = "enter", "change", "accept", "opened", "closed"
Event = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class JournalFile:
    """A journal as it stands: its events in the order of time, and how many lines cannot be read."""

    path: Path
    events: tuple[Event, ...]
    unreadable: int


class Journal:
    """The journal of this program. Raises ``OSError`` where it cannot be made or written."""

    def __init__(self, visit_folder: Path, *, by: str, now: datetime) -> None:
        """Begin a journal in the visit's folder."""
        self.machine = machine_name()
        folder = visit_folder / FOLDER
        make_folder(folder)
        stem = f"{now:%Y%m%d-%H%M%S}-{_file_name(self.machine)}-{os.getpid()}"
        self.path, self._descriptor = _open_new(folder, stem)
        sync_folder(folder)
        self.events: list[Event] = []
        self.add({"do": OPENED, "machine": self.machine, "by": by}, now=now)

    def add(self, event: Event, *, now: datetime) -> None:
        """Write an event; it is on the disk when this returns. Raises ``OSError``."""
        whole = {**event, "at": now.isoformat(timespec="milliseconds")}
        line = line_of(whole)
        if os.write(self._descriptor, line) < len(line):
            raise OSError(errno.ENOSPC, "there is no room for one more line", str(self.path))
        os.fsync(self._descriptor)
        self.events.append(whole)

    def touch(self) -> None:
        """Show the others that this program is still there."""
        os.utime(self.path)

    def close(self, *, now: datetime) -> None:
        """Say that this program has ended."""
        if self._descriptor >= 0:
            self.add({"do": CLOSED}, now=now)
            os.close(self._descriptor)
            self._descriptor = -1


def machine_name() -> str:
    """Return what this machine is called."""
    return socket.gethostname() or "a machine without a name"


def line_of(event: Event) -> bytes:
    """Return an event as a line: its check sum, and itself. It begins anew, also behind a line that was cut off."""
    body = json.dumps(event, sort_keys=True, separators=(",", ":")).encode("ascii")
    return b"\n%08x %s\n" % (zlib.crc32(body), body)


def read_journal(path: Path) -> JournalFile:
    """Read a journal as far as it can be read. Raises ``OSError`` where it is no file of a sensible size."""
    events: list[Event] = []
    unreadable = 0
    for line in read_plain(path, most=MOST_BYTES).split(b"\n"):
        if not line.strip():
            continue
        event = _event(line)
        if event is None:
            unreadable += 1
        else:
            events.append(event)
    return JournalFile(path=path, events=tuple(events), unreadable=unreadable)


def _event(line: bytes) -> Event | None:
    stated, _, body = line.partition(b" ")
    if not re.fullmatch(rb"[0-9a-f]{8}", stated) or int(stated, 16) != zlib.crc32(body):
        return None
    try:
        event = json.loads(body)
    except (ValueError, RecursionError):
        return None
    known = isinstance(event, dict) and isinstance(event.get("do"), str) and isinstance(event.get("at"), str)
    return event if known else None


def _file_name(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-")[:40] or "machine"


def _open_new(folder: Path, stem: str) -> tuple[Path, int]:
    """Make a file that nobody else has: a journal that two programs share would be nobody's."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND
    flags |= getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
    number = 1
    while True:
        path = folder / (f"{stem}{ENDING}" if number == 1 else f"{stem}-{number}{ENDING}")
        try:
            return path, os.open(path, flags, 0o666)
        except FileExistsError:
            number += 1
