"""What is said of a file: four words for four things, and what could not be asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path


class State(Enum):
    """What a file is, the gravest first; only the first is an alarm."""

    ALTERED = "forged or altered"
    """It is not what was made, or does not follow from what it states, or not where it belongs."""
    UNREADABLE = "could not be read"
    """Nothing can be said of it."""
    UNSIGNED = "signature not by an allowed signer"
    """A signature fits, and the list of allowed signers does not tie it to the name."""
    RETURNED = "returned by a reviewer"
    """A reviewer returned it to be corrected, and no other revision has taken over."""
    MOVED_ON = "inputs have moved on since"
    """It follows from what it states, and the inputs hold something else now."""
    NOT_PERFORMED = "not performed again"
    """Its inputs or its software are not at hand, so that it was not compared with what they give."""
    INCOMPLETE = "incomplete (run again)"
    """Something was begun and not brought to its end, or has not been made."""


ORDER = tuple(State)


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that is not in order, in words; ``text`` is one clause."""

    state: State
    text: str


def altered(text: str) -> Finding:
    """Return a finding that is an alarm."""
    return Finding(state=State.ALTERED, text=text)


def incomplete(text: str) -> Finding:
    """Return a finding that the next run mends."""
    return Finding(state=State.INCOMPLETE, text=text)


@dataclass(frozen=True, kw_only=True)
class Verified:
    """What came of verifying a file: ``findings`` that are not in order, and what else there is to say (``said``).

    ``may_be_signed``: a record that holds, and of which everything was asked.
    """

    path: Path
    findings: tuple[Finding, ...] = ()
    said: tuple[str, ...] = ()
    may_be_signed: bool = False

    @property
    def state(self) -> State | None:
        """The gravest state of all findings; None where the file is in order."""
        return gravest(finding.state for finding in self.findings)

    @property
    def faults(self) -> tuple[str, ...]:
        """What was forged or altered, in words."""
        return self.told(State.ALTERED)

    def told(self, *states: State) -> tuple[str, ...]:
        """The findings of some states, in words; of all without any."""
        return tuple(finding.text for finding in self.findings if not states or finding.state in states)


def gravest(states: Iterable[State]) -> State | None:
    """Return the gravest of some states; None of none."""
    return min(states, key=ORDER.index, default=None)
