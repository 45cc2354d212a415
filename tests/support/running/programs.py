"""The command line as a person starts it, and what lies in a folder before and after."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path


def call(
    *arguments: object, cwd: Path, env: Mapping[str, str] | None = None, within: Sequence[str] = ()
) -> subprocess.CompletedProcess[str]:
    """Run a command of the package, ``within`` another program; whatever it says, it says without a traceback."""
    done = subprocess.run(
        [*within, sys.executable, "-m", "vibcal_nb", *map(str, arguments)],
        cwd=cwd,
        env=env,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert "Traceback" not in done.stderr + done.stdout, done.stderr
    return done


def everything_below(folder: Path) -> dict[Path, bytes | None]:
    """What lies below a folder: files with their bytes, folders with nothing."""
    return {path.relative_to(folder): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")}
