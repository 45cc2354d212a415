"""One writer at a time: in a folder, and at one record, among all processes that write there.

A lock ends with its process, however that ends.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from vibcal_nb.problems import NotDone
from vibcal_nb.records.files.whole_files import make_folder

_BUSY = {errno.EACCES, errno.EAGAIN, errno.EDEADLK}
_NO_LOCKS = {errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP}
_LOOK_SECONDS = 0.1


class NoLocks(NotDone):
    """A share on which nothing can be locked; the text is one sentence that says what to do."""

    def __init__(self, folder: Path) -> None:
        """Name the folder, and what to do."""
        super().__init__(
            f"{folder.as_posix()}: this drive keeps no locks, so that two runs would disturb one another; write the "
            "records to a drive of this machine (--out) and copy the folder when the run is done, or mount the share "
            "with locks."
        )


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder's lock; waits for it. Raises ``OSError``, ``NoLocks``."""
    make_folder(folder)
    if sys.platform == "win32":
        with claimed(folder / "folder", wait=True):
            yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        _lock(descriptor, folder, wait=True)
        yield
    finally:
        os.close(descriptor)


def claim_path(path: Path) -> Path:
    """Return the hidden file that is locked while somebody makes what goes to ``path``."""
    return path.with_name(f".{path.name}.claim")


@contextmanager
def claimed(path: Path, *, wait: bool) -> Iterator[bool]:
    """Claim what goes to ``path``; yields whether that was had: always where it waits, else only where nobody holds it.

    The hidden file that is locked for it goes when it is done. Raises ``OSError``, ``NoLocks``.
    """
    make_folder(path.parent)
    place = claim_path(path)
    descriptor = _open_claim(place, wait=wait)
    if descriptor is None:
        yield False
        return
    try:
        yield True
    finally:
        with contextlib.suppress(OSError):
            place.unlink(missing_ok=True)  # while it is locked: whoever opens it later makes a new one
        os.close(descriptor)


def _open_claim(place: Path, *, wait: bool) -> int | None:
    while True:
        descriptor = os.open(place, os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o666)
        try:
            held = _lock(descriptor, place.parent, wait=wait)
        except BaseException:
            os.close(descriptor)
            raise
        if held and _is_still_there(descriptor, place):
            return descriptor
        os.close(descriptor)
        if not held:
            return None


def _is_still_there(descriptor: int, place: Path) -> bool:
    """Whether the file that was locked is the one of that name: who held it before may have removed it."""
    try:
        return os.path.samestat(os.fstat(descriptor), place.stat())
    except FileNotFoundError:
        return False


def _lock(descriptor: int, folder: Path, *, wait: bool) -> bool:
    """Lock what is open; return whether it is locked now. Raises ``NoLocks``, ``OSError``."""
    try:
        _lock_file(descriptor, wait=wait)
    except OSError as error:
        if error.errno in _BUSY and not wait:
            return False
        if error.errno in _NO_LOCKS:
            raise NoLocks(folder) from error
        raise
    return True


if sys.platform == "win32":
    import msvcrt

    def _lock_file(descriptor: int, *, wait: bool) -> None:
        while True:
            os.lseek(descriptor, 0, os.SEEK_SET)
            try:
                msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
            except OSError as error:
                if not wait or error.errno not in _BUSY:
                    raise
                time.sleep(_LOOK_SECONDS)
            else:
                return

else:

    def _lock_file(descriptor: int, *, wait: bool) -> None:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
