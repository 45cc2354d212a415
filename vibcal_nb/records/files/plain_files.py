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
    with os.fdopen(descriptor, "rb") as file:
        found = os.fstat(descriptor)
        if not stat.S_ISREG(found.st_mode):
            raise OSError(errno.EINVAL, "this is no ordinary file; remove it", str(path))
        if found.st_size > most:
            raise OSError(errno.EFBIG, f"this file has more than {most >> 20} MB; remove it", str(path))
        data = file.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"this file has more than {most >> 20} MB; remove it", str(path))
    return data


def is_plain(path: Path) -> bool:
    """Whether there is an ordinary file, also by a link; False where nothing can be said."""
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False
