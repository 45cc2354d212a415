"""What tests of warm kernel are made of."""

from __future__ import annotations

from pathlib import Path


def is_running(pid: int) -> bool:
    try:
        return ") Z " not in Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
    except (FileNotFoundError, ProcessLookupError):
        return False
