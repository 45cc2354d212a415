"""Measured figures, kept beside the benchmark that makes them, with the day and the machine."""

from __future__ import annotations

import os
import platform
import re
from datetime import date
from pathlib import Path

FIGURES = Path(__file__).with_name("FIGURES.md")


def store_figures(heading: str, text: str, *, command: str, path: Path = FIGURES) -> None:
    """Put ``text`` (Markdown) under ``heading`` in a file of figures, in place of what stood there before."""
    cores, python = os.cpu_count(), platform.python_version()
    day = f"{date.today().isoformat()}, {cores} cores, Python {python}, {platform.system()} {platform.machine()}"
    section = f"## {heading}\n\n`{command}`, {day}.\n\n{text.strip()}\n"
    kept = path.read_text(encoding="utf-8") if path.is_file() else "# Measured figures\n"
    pattern = re.compile(rf"^## {re.escape(heading)}\n.*?(?=^## |\Z)", re.MULTILINE | re.DOTALL)
    found = pattern.search(kept)
    kept = kept[: found.start()] + f"{section}\n" + kept[found.end() :] if found else f"{kept.rstrip()}\n\n{section}"
    path.write_text(f"{kept.rstrip()}\n", encoding="utf-8")
