"""Files read only where they are files: a pipe would never end, and a device has no end.

Whatever lies in a folder may have been put there by somebody else.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

MOST_BYTES = 1 << 30
"""Larger files are read by no part of this package that reads them whole: 1 GiB."""

_HOW = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)


def read_plain(path: Path, *, most: int = MOST_BYTES) -> bytes:
    """Return the bytes of an ordinary file. Raises ``OSError`` for all else, and for one of more bytes than ``most``.

    A pipe is not waited for.
    """
    descriptor = os.open(path, _HOW)
    try:
        _refuse_odd(os.fstat(descriptor), path, most)
    except OSError:
        os.close(descriptor)
        raise
    with os.fdopen(descriptor, "rb") as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"this file has more than {most >> 20} MB; remove it", str(path))
    return data


def _refuse_odd(found: os.stat_result, path: Path, most: int) -> None:
    if stat.S_ISDIR(found.st_mode):  # a file object would name it by its descriptor's number alone
        raise IsADirectoryError(errno.EISDIR, "this is a folder, not a file", str(path))
    if not stat.S_ISREG(found.st_mode):
        raise OSError(errno.EINVAL, "this is no ordinary file; remove it", str(path))
    if found.st_size > most:
        raise OSError(errno.EFBIG, f"this file has more than {most >> 20} MB; remove it", str(path))


def is_plain(path: Path) -> bool:
    """Whether there is an ordinary file, also by a link; False where nothing can be said."""
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False
