"""One writer at a time in a folder, among all processes that write there."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows cannot lock a folder; there, two runs into one output do the work twice
    fcntl = None  # type: ignore[assignment]


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder's lock; waits for it. It leaves no file behind, and ends with the process. Raises ``OSError``."""
    if fcntl is None:
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)
