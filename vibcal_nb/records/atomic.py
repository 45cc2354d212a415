"""Files that are there in full or not at all."""

from __future__ import annotations

import os
from pathlib import Path


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write ``content`` to ``path``, text as UTF-8 with LF line ends, making its folder where there is none.

    It goes to a hidden file beside it first, which then replaces ``path`` in one step: a reader sees the old
    file or the new one, never a part. Raises ``OSError`` (the hidden file is gone then).
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = path.with_name(f".{path.name}.{os.getpid()}.partial")
    try:
        with partial.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    except BaseException:
        partial.unlink(missing_ok=True)
        raise
