"""A disk that stops a program at its n-th operation, as a cut of the power does: nothing of what follows is done.

Counted are the operations that change what is on the disk: a file or folder renamed, removed or made, a write (of which
the first half is done), a sync, a statement of a database. Where the program is stopped, and from then on, each raises
`Stopped`, which is no ``Exception``: so what a program does in `finally` does not reach the disk either. Its locks go,
as they go with a process.
"""

from __future__ import annotations

import contextlib
import io
import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import RLock
from typing import Any
from unittest.mock import patch

_NO_PROCESS = 1 << 30  # no system gives a process that number


class Stopped(BaseException):
    """The program was stopped here."""


@dataclass(kw_only=True)
class Disk:
    """The operations below a folder: ``done`` so many, ``stop_at`` the one that is the last, None for none."""

    root: Path
    stop_at: int | None = None
    done: int = 0
    kinds: list[str] = field(default_factory=list)
    lock: RLock = field(default_factory=RLock)

    def operation(self, kind: str) -> bool:
        """Count an operation; return whether it is the one at which the program stops, and raise behind it."""
        with self.lock:
            if self.stop_at is not None and self.done >= self.stop_at:
                raise Stopped
            self.done += 1
            self.kinds.append(kind)
            return self.done == self.stop_at

    def concerns(self, path: Any) -> bool:
        """Whether a path lies below the folder."""
        return isinstance(path, str | os.PathLike) and Path(path).absolute().is_relative_to(self.root)


@contextmanager
def disk_that_stops(root: Path, stop_at: int | None) -> Iterator[Disk]:
    """Count what is done below ``root``, and stop at an operation. What is raised is the program's matter."""
    disk = Disk(root=root.absolute(), stop_at=stop_at)
    opened: set[int] = set()
    with ExitStack() as stack:
        stack.callback(_end, disk, opened)  # behind all others: what it does is no longer counted
        for name in ("replace", "rename", "unlink", "remove", "mkdir", "rmdir"):
            stack.enter_context(patch(f"os.{name}", _of_paths(disk, name, getattr(os, name))))
        stack.enter_context(patch("os.fsync", _sync(disk, os.fsync)))
        stack.enter_context(patch("io.open", _opening(disk, io.open)))
        stack.enter_context(patch("sqlite3.connect", _connecting(disk, sqlite3.connect)))
        stack.enter_context(patch("os.open", _noting(opened, os.open)))
        stack.enter_context(patch("os.close", _forgetting(opened, os.close)))
        yield disk


def _end(disk: Disk, opened: set[int]) -> None:
    """What ends with a process: its locks. What it leaves half written is no longer written by anybody."""
    if disk.stop_at is not None and disk.done >= disk.stop_at:
        for descriptor in opened:
            with contextlib.suppress(OSError):
                os.close(descriptor)
        _disown(disk.root)


def _of_paths(disk: Disk, kind: str, real: Callable[..., Any]) -> Callable[..., Any]:
    def act(path: Any, *more: Any, **named: Any) -> Any:
        if not disk.concerns(path):
            return real(path, *more, **named)
        last = disk.operation(kind)
        done = real(path, *more, **named)
        if last:
            raise Stopped
        return done

    return act


def _sync(disk: Disk, real: Callable[[int], None]) -> Callable[[int], None]:
    def act(descriptor: int) -> None:
        if disk.operation("fsync"):
            raise Stopped
        real(descriptor)

    return act


def _noting(opened: set[int], real: Callable[..., int]) -> Callable[..., int]:
    def act(*words: Any, **named: Any) -> int:
        descriptor = real(*words, **named)
        opened.add(descriptor)
        return descriptor

    return act


def _forgetting(opened: set[int], real: Callable[[int], None]) -> Callable[[int], None]:
    def act(descriptor: int) -> None:
        opened.discard(descriptor)
        real(descriptor)

    return act


def _opening(disk: Disk, real: Callable[..., Any]) -> Callable[..., Any]:
    def act(file: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        if not disk.concerns(file) or not set(mode) & set("wax+"):
            return real(file, mode, *more, **named)
        last = disk.operation("open")
        opened = real(file, mode, *more, **named)
        if last:
            opened.close()
            raise Stopped
        return _File(disk, opened)

    return act


class _File:
    """A file that is written: a stop leaves the first half of what is written."""

    def __init__(self, disk: Disk, file: Any) -> None:
        self._disk, self._file = disk, file

    def __enter__(self) -> _File:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def write(self, data: Any) -> int:
        if self._disk.operation("write"):
            self._file.write(data[: len(data) // 2])
            self._file.close()
            raise Stopped
        written: int = self._file.write(data)
        return written


def _connecting(disk: Disk, real: Callable[..., sqlite3.Connection]) -> Callable[..., sqlite3.Connection]:
    class Connection(sqlite3.Connection):
        """A database whose changes are counted; one that is closed within a transaction takes it back."""

        def execute(self, sql: str, *more: Any) -> sqlite3.Cursor:
            if sql.split()[0] not in ("SELECT", "PRAGMA"):
                last = disk.operation(sql.split()[0])
                done = super().execute(sql, *more)
                if last:
                    raise Stopped
                return done
            return super().execute(sql, *more)

        def executescript(self, sql: str) -> sqlite3.Cursor:
            if disk.operation("script"):
                raise Stopped
            return super().executescript(sql)

    def act(path: Any, *more: Any, **named: Any) -> sqlite3.Connection:
        return real(path, *more, **({"factory": Connection} if disk.concerns(path) else {}), **named)

    return act


def _disown(root: Path) -> None:
    """Files half written bear the number of their process, which is still here: give them one that is not."""
    own = f"-{os.getpid()}.partial"
    for path in root.rglob(f".*{own}*"):
        path.replace(path.with_name(path.name.replace(own, f"-{_NO_PROCESS}.partial")))
