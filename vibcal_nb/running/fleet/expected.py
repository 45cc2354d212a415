"""What the inputs of a record hold when a run begins: what the record has to state that it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT
from vibcal_nb.records.inputs_used.encoding import NotEncoded
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.records.inputs_used.visit_statement import sum_of_visit
from vibcal_nb.running.fleet.stamp import LIKE, stamp_of


@dataclass(frozen=True, kw_only=True)
class Expected:
    """The inputs of one record by their sums: of its own visit first, then of those before it.

    ``to_the_end``: whether the record uses every visit before its own; else, as many as its verdict asks for.
    ``like_sha256`` is over all that like channels' answers are worked out from, None where none are asked;
    ``like`` are the answers, None as long as nobody has worked them out. ``present`` can.
    """

    visits: tuple[tuple[str, str], ...]
    to_the_end: bool
    like_sha256: str | None = None
    like: Mapping[str, Any] | None = None
    present: PresentInputs | None = None
    path: Path
    channel: str

    def holds(self, statement: Any, *, like_sha256: str | None = None) -> bool:
        """Whether a statement is of these inputs; ``like_sha256`` is the sum that its record is stamped with."""
        try:
            stated = tuple((visit["name"], sum_of_visit(visit)) for visit in statement["visits"])
            like = statement.get("like")
        except (NotEncoded, KeyError, TypeError, AttributeError):
            return False
        wanted = self.visits if self.to_the_end else self.visits[: len(stated)]
        if not stated or stated != wanted or (like is None) != (self.like_sha256 is None):
            return False
        return like is None or like_sha256 == self.like_sha256 or like == self.answers()

    def answers(self) -> Mapping[str, Any] | None:
        """Return the answers of like channels, worked out where they have to be. Raises ``InputRefused``."""
        if self.like is None and self.present is not None:
            return self.present.like(self.path, channel=self.channel)
        return self.like

    def __getstate__(self) -> dict[str, Any]:
        """Another process gets the answers, and not the inputs that they are worked out from."""
        like = None if self.like_sha256 is None else self.answers()
        return {**self.__dict__, "like": like, "present": None}


def expect(present: PresentInputs, path: Path, *, channel: str, analysis: str, condition: str) -> Expected:
    """Return what a record would state now. Raises ``InputRefused``, ``NothingToAnalyse``."""
    said = present.statement(path, channel=channel, analysis=analysis, condition=condition)
    return Expected(
        visits=tuple((visit["name"], sum_of_visit(visit)) for visit in said["visits"]),
        to_the_end=analysis != CHANNEL_VERDICT,
        like_sha256=present.sum_of_like(path, channel=channel) if analysis == DRIFT else None,
        present=present,
        path=path,
        channel=channel,
    )


def like_stamp(notebook: Mapping[str, Any]) -> str | None:
    """Return the sum that a record is stamped with for what like channels' answers are worked out from."""
    found = stamp_of(notebook).get(LIKE)
    return found if isinstance(found, str) else None
