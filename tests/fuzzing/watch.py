"""What nothing that a file holds may bring about: writing elsewhere, a pickle, a program, the network, or no end."""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

CPU_SECONDS = 60.0
KEYGEN = shutil.which("ssh-keygen") or "ssh-keygen"
PROGRAMS = (KEYGEN, sys.executable)  # which checks signatures; from which the processes of notebooks are forked
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_PATHS = ("os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.truncate", "os.chmod")
_watched: list[tuple[Path, list[str]]] = []  # the folder that may be written to, and what was done besides
_hooked = False


class NoEnd(BaseException):
    """A case took longer than any file is worth; no handler of the package's catches this."""


@contextmanager
def watched(folder: Path) -> Iterator[None]:
    """Fail where anything within writes outside the folder, loads a pickle, starts a program or does not end."""
    global _hooked  # an audit hook stays for good
    if not _hooked:
        sys.addaudithook(_audit)
        _hooked = True
    did: list[str] = []
    temporary, tempfile.tempdir = tempfile.tempdir, str(folder)
    _watched.append((folder.resolve(), did))
    try:
        with _ending():
            yield
    finally:
        _watched.pop()
        tempfile.tempdir = temporary
    assert not did, did


@contextmanager
def _ending() -> Iterator[None]:
    if not hasattr(signal, "SIGPROF"):  # Windows
        yield
        return

    def stop(*_: Any) -> None:
        raise NoEnd(f"more than {CPU_SECONDS:g} s of processor time")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, CPU_SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def _audit(event: str, arguments: tuple[Any, ...]) -> None:
    if _watched:
        folder, did = _watched[-1]
        did.extend(describe(event, arguments, [folder]))


def describe(
    event: str, arguments: tuple[Any, ...], may: Sequence[Path], programs: Sequence[str] = PROGRAMS
) -> Iterator[str]:
    """Describe what an event of the interpreter's audit does that nothing may.

    ``may``: folders that may be written to; ``programs``: those that may be started.
    """
    if event == "open":
        path, mode, flags = arguments
        writes = any(letter in str(mode or "") for letter in "wax+") or int(flags or 0) & _WRITING
        if writes and not _may_write(path, may):
            yield f"opened {path!r} to write"
    elif event in _PATHS:
        if isinstance(arguments[-1], int) and arguments[-1] != -1:  # below a folder that is open already
            return
        yield from (f"{event} {path!r}" for path in arguments if isinstance(path, str) and not _may_write(path, may))
    elif event == "sqlite3.connect" and arguments[0] != ":memory:" and not _may_write(arguments[0], may):
        yield f"connected to {arguments[0]!r}"
    elif event == "pickle.find_class" or event in ("socket.connect", "socket.sendto", "socket.getaddrinfo"):
        yield f"{event} {arguments!r}"
    elif event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn"):
        words = arguments[1] if event == "subprocess.Popen" else arguments
        if words[0] not in programs:
            yield f"{event} {words!r}"


def _may_write(path: Any, may: Sequence[Path]) -> bool:
    if isinstance(path, int) or path is None:
        return True
    text = os.fsdecode(path)
    if text.startswith("file:"):
        text = text.removeprefix("file://").removeprefix("file:").split("?")[0]
    place = Path(text).absolute()
    inside = any(place.resolve().is_relative_to(folder) for folder in may)
    return inside or "__pycache__" in place.parts or text == os.devnull
