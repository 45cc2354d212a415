"""The earlier revision of a record, copied to ``superseded/`` before a new one takes its place. Nothing is lost.

Done again after an interruption, it copies nothing twice: a copy of the same bytes is the same revision.
"""

from __future__ import annotations

from pathlib import Path

from vibcal_nb.records.files.places import SUPERSEDED, page_path
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.signoff.places import list_signoffs, signature_path


def set_aside(record: Path, *, revision: int) -> Path:
    """Copy a record, its page and its sign-offs to ``superseded/``; return where the record's copy lies.

    Raises ``OSError``.
    """
    data = read_plain(record)
    copy = find_copy(record, data, revision=revision) or _free_place(record, revision)
    for path in beside(record):
        twin = twin_of(path, record, copy)
        if not twin.is_file() or read_plain(twin) != read_plain(path):
            write_atomically(twin, read_plain(path))
    if not copy.is_file():
        write_atomically(copy, data)  # last: a record that is there is there with all that belongs to it
    return copy


def beside(record: Path) -> list[Path]:
    """List what belongs to a record and lies beside it: its page, its sign-offs, their signatures."""
    signoffs = list_signoffs(record)
    found = [page_path(record), *signoffs, *map(signature_path, signoffs)]
    return [path for path in found if path.is_file()]


def twin_of(path: Path, record: Path, copy: Path) -> Path:
    """Return where the copy of a file beside a record lies, beside the copy of the record."""
    return copy.with_name(path.name.replace(record.stem, copy.stem, 1))


def find_copy(record: Path, data: bytes, *, revision: int) -> Path | None:
    """Find the copy of a record that was set aside with these bytes; None where there is none."""
    folder, stem = record.parent / SUPERSEDED, f"{record.stem}.rev{revision}"
    same = [path for path in folder.glob("*.ipynb") if path.stem == stem or path.stem.startswith(f"{stem}-")]
    return next((path for path in sorted(same) if read_plain(path) == data), None)


def _free_place(record: Path, revision: int) -> Path:
    """A revision that is no longer intact may claim a number that is taken."""
    folder, name, number = record.parent / SUPERSEDED, f"{record.stem}.rev{revision}", 1
    while (folder / f"{name}.ipynb").exists():
        number += 1
        name = f"{record.stem}.rev{revision}-{number}"
    return folder / f"{name}.ipynb"
