"""What is said of a result, and how failures come first in it."""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.metrology.conformity.decision import PASS, Decision

Finding = tuple[bool, str]  # whether it speaks against what was tested, and the sentence


@dataclass(frozen=True, kw_only=True)
class Wording:
    """What is said of a result.

    ``findings``: what was measured against which limit, failures first; ``gaps``: what was not verified;
    ``remarks``: what else the readings or the equipment show.
    """

    findings: tuple[str, ...]
    gaps: tuple[str, ...]
    remarks: tuple[str, ...]


def is_against(decision: Decision | None) -> bool:
    """Whether a decision was made and is not a plain pass."""
    return decision is not None and decision.verdict != PASS


def failures_first(findings: list[Finding]) -> tuple[str, ...]:
    """Return the sentences, failures first, each group in its own order."""
    return tuple(text for bad, text in findings if bad) + tuple(text for bad, text in findings if not bad)
