"""Whether a sensor may come off: per test what is read, what is missing, and what is judged so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from vibcal_nb.analysis.entry.more_steps import LastCheck, last_checks
from vibcal_nb.analysis.entry.steps import Step, open_steps
from vibcal_nb.analysis.result import DrivenSetPoint, Result
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.names import LINEARITY
from vibcal_nb.model.readings import Reading

NOT_YET: Final = "not yet"
JUDGED: Final = "judged"
FAILS: Final = "failing: find out now"

Performed = Result | str
"""The result of a test, or the sentence that says why there is none."""


@dataclass(frozen=True, kw_only=True)
class TestStanding:
    """How one test stands: ``read`` readings that count, ``missing`` steps, its result or why there is none."""

    __test__ = False  # no test of the project's own

    test: str
    read: int
    missing: tuple[Step, ...]
    performed: Performed

    @property
    def verdict(self) -> str | None:
        """The verdict as it stands, None where there is no result."""
        return None if isinstance(self.performed, str) else self.performed.verdict

    @property
    def why(self) -> tuple[str, ...]:
        """Why it is not judged yet, in sentences without their stops."""
        if isinstance(self.performed, str):
            return (self.performed.rstrip("."),)
        return tuple(gate.sentence for gate in self.performed.gates)


@dataclass(frozen=True, kw_only=True)
class ComingOff:
    """How a channel stands in one condition, whether its sensor may come off, and what a last check shows."""

    channel: str
    condition: str
    tests: tuple[TestStanding, ...]
    set_points: tuple[DrivenSetPoint, ...]
    last: tuple[LastCheck, ...]

    @property
    def state(self) -> str:
        """One of ``NOT_YET``, ``JUDGED``, ``FAILS``; a test that fails comes before all else."""
        verdicts = [test.verdict for test in self.tests]
        if any(verdict in FAILING for verdict in verdicts):
            return FAILS
        done = bool(verdicts) and all(verdict in PASSING for verdict in verdicts)
        return JUDGED if done and not self.missing else NOT_YET

    @property
    def missing(self) -> tuple[Step, ...]:
        """The steps of all tests that are still to be taken."""
        return tuple(step for test in self.tests for step in test.missing)

    @property
    def failing(self) -> tuple[str, ...]:
        """The tests that fail as they stand."""
        return tuple(test.test for test in self.tests if test.verdict in FAILING)


def may_come_off(
    channel: Channel,
    *,
    condition: str,
    steps: Sequence[Step],
    readings: Sequence[Reading],
    performed: Mapping[str, Performed],
) -> ComingOff:
    """Return how a channel stands.

    ``steps`` and ``readings`` are those of the channel in this condition, ``performed`` the results by test of all
    tests that are planned or read.
    """
    left = open_steps(steps, readings)
    line = performed.get(LINEARITY)
    return ComingOff(
        channel=channel.tag,
        condition=condition,
        tests=tuple(
            TestStanding(
                test=test,
                read=sum(reading.test == test and reading.exclude is None for reading in readings),
                missing=tuple(step for step in left if step.test == test),
                performed=result,
            )
            for test, result in performed.items()
        ),
        set_points=tuple(line.driven()) if isinstance(line, Result) else (),
        last=tuple(last_checks(channel, readings)),
    )
