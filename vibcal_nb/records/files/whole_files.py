"""Files that are there in full or not at all, and stay there when the power goes."""

from __future__ import annotations

import hashlib
import os
import socket
import sys
import time
from collections.abc import Iterable
from pathlib import Path

_STALE_SECONDS = 3600.0


def partial_path(path: Path) -> Path:
    """Return the hidden file beside ``path`` that this process writes before it takes the place of ``path``.

    Its name tells the machine and the process, so that two runs never write the same one, and a later run knows
    which ones nobody writes any more.
    """
    return path.with_name(f".{path.name}.{_machine()}-{os.getpid()}.partial")


def _machine() -> str:
    return hashlib.sha256(socket.gethostname().encode()).hexdigest()[:8]


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write ``content`` to ``path``, text as UTF-8 with LF line ends, making its folder where there is none.

    It goes to a hidden file beside it first, which then replaces ``path`` in one step: a reader sees the old
    file or the new one, never a part. File and folder are on the disk when this returns. Raises ``OSError`` (the
    hidden file is gone then).
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    make_folder(path.parent)
    partial = partial_path(path)
    try:
        with partial.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    except BaseException:
        partial.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, each on the disk by its name. Raises ``OSError``."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    sync_folder(folder.parent)


def remove(path: Path) -> None:
    """Remove a file, where there is one, for good. Raises ``OSError``."""
    path.unlink(missing_ok=True)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Have the disk hold which names are in a folder. Windows has no way to ask for that, and keeps them itself."""
    if sys.platform == "win32":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def remove_stale_partials(folders: Iterable[Path]) -> list[Path]:
    """Remove what processes that were killed left half-written in the folders and below; return what was removed.

    What a living process of this machine writes stays, and so does what another machine wrote within the hour.
    """
    found = {path for folder in folders for path in folder.rglob(".*.partial*")}
    stale = [path for path in sorted(found) if _is_stale(path)]
    for path in stale:
        path.unlink(missing_ok=True)
    return stale


def _is_stale(path: Path) -> bool:
    machine, _, process = path.name.rpartition(".partial")[0].rpartition(".")[2].partition("-")
    if machine == _machine() and process.isdecimal() and sys.platform != "win32":
        return not _is_running(int(process))
    try:
        return time.time() - path.stat().st_mtime > _STALE_SECONDS
    except FileNotFoundError:
        return False


def _is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True
