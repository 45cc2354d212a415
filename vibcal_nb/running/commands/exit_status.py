"""What the command line says to the shell when it ends."""

from __future__ import annotations

from enum import IntEnum


class ExitStatus(IntEnum):
    """Exit status of every command; of several that apply, the highest."""

    DONE = 0
    """All was done, and every verdict is pass or conditional pass."""
    NOT_ALL_PASS = 1
    """All was done; some verdict is fail, conditional fail or not verified."""
    REFUSED = 2
    """Input or usage was refused, and nothing was written for it."""
    NOT_DONE = 3
    """Something could not be done."""
