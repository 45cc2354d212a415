"""Words for a terminal: on one line each, coloured where a person looks at them and nowhere else."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TextIO

from vibcal_nb.metrology.conformity.decision import CONDITIONAL_FAIL, FAIL, NOT_VERIFIED, PASSING
from vibcal_nb.problems import on_one_line

_BOLD, _PLAIN = "\x1b[1m", "\x1b[0m"
_COLOURS: dict[str, str] = dict.fromkeys(PASSING, "32")
_COLOURS |= {NOT_VERIFIED: "33", CONDITIONAL_FAIL: "31", FAIL: "31"}


def say(text: str, *, to: TextIO | None = None) -> None:
    """Print a line at once. Texts are a file's own, which may hold whatever a terminal would take for a command."""
    print(on_one_line(text), file=to, flush=True)


def say_verdict(verdict: str, text: str) -> None:
    """Print a line that begins with a verdict, coloured on a terminal."""
    word = on_one_line(verdict)
    code = _COLOURS.get(verdict)
    if code is not None and is_coloured(sys.stdout):
        word = f"\x1b[{code}m{word}{_PLAIN}"
    print(f"  {word}{on_one_line(text)}", flush=True)


def say_heading(text: str) -> None:
    """Print a heading, bold on a terminal."""
    line = on_one_line(text)
    print(f"{_BOLD}{line}{_PLAIN}" if is_coloured(sys.stdout) else line, flush=True)


def program() -> str:
    """The words by which this was called: the console command, or the package."""
    called = Path(sys.argv[0]).stem if sys.argv else ""
    return called if called == "vibcal-nb" else "python -m vibcal_nb"


def is_coloured(stream: TextIO) -> bool:
    """Whether a stream is a terminal that shows colours, and nobody asked for none (NO_COLOR, no-color.org)."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb" or not stream.isatty():
        return False
    return sys.platform != "win32" or "WT_SESSION" in os.environ  # an older console prints the codes as they are
