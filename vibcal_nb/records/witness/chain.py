"""A hash chain in a text file: one JSON object a line, only ever appended, each with the hash of the one before."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from vibcal_nb.problems import Refused, in_words, on_one_line
from vibcal_nb.records.files.canonical import sum_of
from vibcal_nb.records.files.folder_lock import claimed
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import sync_folder

WITNESS_FILE = "witness.jsonl"
FIRST = "0" * 64
"""What the first entry follows on."""
_NAMES = {"number", "kind", "place", "sum", "at", "previous", "hash"}


class WitnessUnusable(Refused):
    """A witness that cannot be read or appended to; the text is one sentence that says what to do."""


@dataclass(frozen=True, kw_only=True)
class Witnessed:
    """What is entered. ``kind``: ``record`` or ``sign-off``; ``place``: its path from the records folder.

    ``sum`` is the digest of a record's seal, or the SHA-256 sum of a sign-off with its signature.
    """

    kind: str
    place: str
    sum: str

    @property
    def key(self) -> tuple[str, str]:
        """What is entered once: a sign-off moves with its record."""
        return self.kind, self.sum


@dataclass(frozen=True, kw_only=True)
class Entry:
    """An entry of the chain: what was entered, when by this machine's clock (ISO 8601, UTC), and its links."""

    number: int
    witnessed: Witnessed
    at: str
    previous: str
    hash: str


@dataclass(frozen=True, kw_only=True)
class Chain:
    """A witness as it was read: its entries, and in sentences where it is not what was written.

    ``torn`` counts lines that were begun and not finished: what a machine leaves that stops while it writes.
    """

    path: Path
    entries: tuple[Entry, ...] = ()
    problems: tuple[str, ...] = ()
    torn: int = 0

    @cached_property
    def keys(self) -> frozenset[tuple[str, str]]:
        """What is entered, by kind and sum."""
        return frozenset(entry.witnessed.key for entry in self.entries)

    @property
    def head(self) -> str:
        """The hash of the last entry."""
        return self.entries[-1].hash if self.entries else FIRST

    @property
    def first(self) -> str:
        """The hash of the first entry, which tells one witness from another."""
        return self.entries[0].hash if self.entries else FIRST

    @property
    def standing(self) -> str:
        """How far it has come, for a person who writes it down: who knows this knows whether its end was cut off."""
        return f"{len(self.entries)} entries, the last with the hash {self.head}"


def witness_path(place: Path) -> Path:
    """Return the file of a witness that is named by its file or by its folder."""
    return place / WITNESS_FILE if place.is_dir() else place


def read_chain(path: Path) -> Chain:
    """Read a witness and check its chain; one that is not there has no entries. Raises ``WitnessUnusable``."""
    try:
        data = read_plain(path)
    except FileNotFoundError:
        return Chain(path=path)
    except OSError as error:
        raise WitnessUnusable(f"The witness cannot be read: {in_words(error)}") from error
    return _check(path, data.split(b"\n"))


def _check(path: Path, lines: Sequence[bytes]) -> Chain:
    entries: list[Entry] = []
    problems: list[str] = []
    broken: list[int] = []
    expected, previous = 1, FIRST
    for line, text in enumerate(lines, start=1):
        if not text:
            continue
        entry = _read(text)
        if entry is None:
            broken.append(line)
            continue
        problems += _problems(entry, line, expected=expected, previous=previous)
        entries.append(entry)
        expected, previous = entry.number + 1, entry.hash
    problems += [f"line {line} is no entry" for line in broken if lines[line - 1][:1] != b"{"]
    torn = sum(lines[line - 1][:1] == b"{" for line in broken)
    return Chain(path=path, entries=tuple(entries), problems=tuple(problems), torn=torn)


def _problems(entry: Entry, line: int, *, expected: int, previous: str) -> list[str]:
    """Say what is wrong with an entry; one that was begun and not finished leaves no gap in the numbers."""
    named = f"line {line}: entry {entry.number}"
    said = [f"{named} ({entry.witnessed.place}) was altered"] if entry.hash != _hash(entry) else []
    if entry.number > expected:
        said.append(f"{named} follows on entry {expected - 1}; what stood between was taken out")
    elif entry.number < expected:
        said.append(f"{named} stands behind entry {expected - 1}; they were put in another order")
    elif entry.previous != previous:
        said.append(f"{named} does not follow on the one before; one of them was put in later")
    return said


def _read(text: bytes) -> Entry | None:
    try:
        said: Any = json.loads(text.decode("utf-8"))
    except (ValueError, RecursionError):
        return None
    if not isinstance(said, dict) or set(said) != _NAMES or type(said["number"]) is not int or text != _line(said):
        return None
    texts = [said[name] for name in ("kind", "place", "sum", "at", "previous", "hash")]
    if not all(isinstance(item, str) for item in texts):
        return None
    witnessed = Witnessed(kind=said["kind"], place=said["place"], sum=said["sum"])
    own = {name: said[name] for name in ("number", "at", "previous", "hash")}
    return Entry(witnessed=witnessed, **own)


def _line(said: dict[str, Any]) -> bytes:
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return text.encode("utf-8", "surrogatepass")


def _statement(entry: Entry) -> dict[str, Any]:
    links = {"at": entry.at, "previous": entry.previous, "hash": entry.hash}
    return {"number": entry.number, **asdict(entry.witnessed), **links}


def _hash(entry: Entry) -> str:
    return sum_of({name: value for name, value in _statement(entry).items() if name != "hash"})


def append(path: Path, items: Iterable[Witnessed], *, at: str) -> tuple[Chain, int]:
    """Append what the chain does not hold yet, in order; return the chain as it is then, and how much was new.

    What has been entered once, by its kind and sum, is not entered again at another place.

    One writer at a time; what is entered is on the disk when this returns. A line that was begun and not finished
    stays, and the next begins on its own. Raises ``WitnessUnusable`` where the chain is not what was written, or
    cannot be written, ``NoLocks``.
    """
    try:
        with claimed(path, wait=True):
            return _append(path, list(items), at)
    except OSError as error:
        raise WitnessUnusable(f"The witness cannot be written: {in_words(error)}") from error


def _append(path: Path, items: list[Witnessed], at: str) -> tuple[Chain, int]:
    chain = read_chain(path)
    refuse_broken(chain)
    known = set(chain.keys)
    entries = list(chain.entries)
    for item in items:
        if item.key not in known:
            known.add(item.key)
            entries.append(_following(entries, item, at))
    new = entries[len(chain.entries) :]
    if new:
        whole = not path.exists() or not path.stat().st_size or read_plain(path).endswith(b"\n")
        _write_behind(path, b"".join([b"" if whole else b"\n", *(_line(_statement(entry)) + b"\n" for entry in new)]))
    return Chain(path=path, entries=tuple(entries), torn=chain.torn), len(new)


def _following(entries: Sequence[Entry], item: Witnessed, at: str) -> Entry:
    previous = entries[-1].hash if entries else FIRST
    entry = Entry(number=len(entries) + 1, witnessed=item, at=at, previous=previous, hash="")
    return Entry(number=entry.number, witnessed=item, at=at, previous=previous, hash=_hash(entry))


def _write_behind(path: Path, data: bytes) -> None:
    """Write behind what is there; a drive that allows nothing but appending allows this."""
    with path.open("ab") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    sync_folder(path.parent)


def refuse_broken(chain: Chain) -> None:
    """Raise ``WitnessUnusable`` for a chain that is not what was written: nothing is put behind a forged entry."""
    if chain.problems:
        said = f"{chain.path.as_posix()}: the witness was altered ({'; '.join(chain.problems[:3])})."
        raise WitnessUnusable(on_one_line(f"{said} Keep it, and ask who could write it."))
