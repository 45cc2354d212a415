"""What the inputs hold now, in the form in which records state what they were made from. Each visit is read once."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from threading import RLock
from typing import Any

from vibcal_nb.analysis.drift.standing import Standing
from vibcal_nb.inputs.earlier_visits import earlier_visits
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import require_channel, select_case
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT, LINEARITY
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.records.files.canonical import sum_of
from vibcal_nb.records.inputs_used.record_inputs import (
    cases_of,
    state_channel,
    state_held,
    state_history,
    state_like,
    state_test,
)
from vibcal_nb.records.inputs_used.visit_statement import state_visit, sum_of_visit
from vibcal_nb.records.perform.history import alike, stood


class PresentInputs:
    """The visits of some assets as their files are now. Safe for threads."""

    def __init__(self, loaded: Iterable[VisitFolder] = ()) -> None:
        self._lock = RLock()
        self._visits: dict[Path, VisitFolder | InputRefused] = {_place(visit.path): visit for visit in loaded}
        self._before: dict[Path, list[Path]] = {}
        self._standings: dict[tuple[Path, str], tuple[Standing, ...]] = {}
        self._like_sums: dict[tuple[Path, str], str] = {}

    def visit(self, path: Path) -> VisitFolder:
        """Return a visit. Raises ``InputRefused`` with every problem of its files."""
        place = _place(path)
        with self._lock:
            if place not in self._visits:
                try:
                    self._visits[place] = load_visit(path)
                except InputRefused as refused:
                    self._visits[place] = refused
            found = self._visits[place]
        if isinstance(found, InputRefused):
            raise found
        return found

    def before(self, path: Path) -> list[Path]:
        """Return the folders of the visits before one, the latest first. Raises ``InputRefused``."""
        with self._lock:
            if path not in self._before:
                self._before[path] = earlier_visits(self.visit(path))[::-1]
            return self._before[path]

    def statement(self, path: Path, *, channel: str, analysis: str, condition: str) -> dict[str, Any]:
        """Return what a record of the visit at ``path`` would state now, but for ``like``, which `like` returns.

        Of a whole channel all earlier visits are there, although a record looks no further back than it has to.
        Raises ``InputRefused``, ``NothingToAnalyse``.
        """
        visit, test = self.visit(path), analysis_named(analysis).test
        if test is not None:
            return state_test(select_case(visit, channel=channel, test=test, condition=condition))
        if analysis == DRIFT:
            return {"visits": state_history(self._history(path), channel=channel, like={})["visits"]}
        if analysis == CHANNEL_VERDICT:
            select_channel_case(visit, channel=channel, condition=condition)
            return state_channel(visit, channel, {other: self._read(other) for other in self.before(path)})
        require_channel(visit, channel)
        return {"visits": [state_held(visit, channel)]}

    def _read(self, path: Path) -> VisitFolder | None:
        try:
            return self.visit(path)
        except InputRefused:
            return None

    def counterpart(
        self, stated: Mapping[str, Any], path: Path, *, channel: str, analysis: str, condition: str
    ) -> dict[str, Any]:
        """Return what a record would state now in place of what it states: of as many visits, with like channels.

        Raises ``InputRefused``, ``NothingToAnalyse``.
        """
        now = self.statement(path, channel=channel, analysis=analysis, condition=condition)
        if analysis == CHANNEL_VERDICT:
            visits = stated.get("visits")
            now["visits"] = now["visits"][: len(visits) if isinstance(visits, list) else 1]
        return now | {"like": self.like(path, channel=channel)} if analysis == DRIFT else now

    def like(self, path: Path, *, channel: str) -> dict[str, Any]:
        """Return what a drift record would state now of like channels. Raises ``InputRefused``."""
        with self._lock:
            visits = self._history(path)
            return state_like({tag: self._stood(path, visits, tag) for tag in alike(visits, channel)})

    def sum_of_like(self, path: Path, *, channel: str) -> str:
        """Return a sum over all that `like` is worked out from: where it is the same, so is what like channels say."""
        visits = self._history(path)
        return sum_of([[tag, *(self._sum_of_lines(visit, tag) for visit in visits)] for tag in alike(visits, channel)])

    def _stood(self, path: Path, visits: tuple[VisitFolder, ...], tag: str) -> tuple[Standing, ...]:
        if (path, tag) not in self._standings:
            self._standings[path, tag] = stood(visits, tag)
        return self._standings[path, tag]

    def _sum_of_lines(self, visit: VisitFolder, tag: str) -> str:
        with self._lock:
            if (visit.path, tag) not in self._like_sums:
                cases = [case for case in cases_of(visit, tag) if case.test == LINEARITY]
                self._like_sums[visit.path, tag] = sum_of_visit(state_visit(cases)) if cases else ""
            return self._like_sums[visit.path, tag]

    def _history(self, path: Path) -> tuple[VisitFolder, ...]:
        return (*(self.visit(other) for other in reversed(self.before(path))), self.visit(path))


def _place(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  # a link is not followed away from its asset
