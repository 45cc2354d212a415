"""A slip of writing: which rows, what was probably meant, and the question to a person. Never a change."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from vibcal_nb.analysis.slips.question import compose_question
from vibcal_nb.analysis.slips.slip_kinds import OUTPUT
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import MODULE_ALONE, SENSOR_ALONE
from vibcal_nb.model.readings import Reading

UNKNOWN = "written down wrongly; what was read is not known"
"""Reason for which a slip undone leaves out a row whose own number stands nowhere in the table."""


@dataclass(frozen=True, kw_only=True)
class Slip:
    """Something that a person may have written down wrongly.

    ``kind`` is one of ``KINDS``. ``written`` are the rows as they stand, ascending; ``meant`` the same rows as they
    were probably meant, excluded where their own number is not in the table, empty where nothing is known. ``field``
    is what is wrong in them: ``output``, ``applied``, their units, or ``frequency_hz``. ``factor`` is written over
    meant (of `OUTSIDE`: over expected), None where that says nothing. ``cause`` is what may have happened, as a
    phrase; ``expected`` the output that is expected in the first row, in its unit, ``limits`` the planned ones there
    where the rows agree with the others and are outside them all the same. ``nominal`` is, by test, the nominal
    sensitivity as it stands and as it was probably meant.
    """

    kind: str
    written: tuple[Reading, ...]
    meant: tuple[Reading, ...] = ()
    field: str = OUTPUT
    factor: float | None = None
    cause: str = ""
    expected: float | None = None
    limits: tuple[float, float] | None = None
    nominal: tuple[tuple[str, float, float], ...] = ()

    @property
    def rows(self) -> tuple[int, ...]:
        """Rows of the table, as a spreadsheet counts."""
        return tuple(reading.row for reading in self.written)

    @property
    def tests(self) -> tuple[str, ...]:
        """The tests that the rows belong to."""
        return tuple(dict.fromkeys(reading.test for reading in self.written))

    @property
    def channel(self) -> str:
        """The channel that the rows belong to."""
        return self.written[0].channel

    @property
    def condition(self) -> str:
        """The condition that the rows belong to."""
        return self.written[0].condition

    @property
    def question(self) -> str:
        """What to ask a person, in one sentence or two."""
        return compose_question(self)

    def undone(self, case: Case) -> Case:
        """Return the case as it would be with the slip undone; a case that the slip does not touch, as it is."""
        if (case.channel.tag, case.condition) != (self.channel, self.condition):
            return case
        meant = {reading.row: reading for reading in self.meant if reading.test == case.test}
        if meant:
            case = replace(case, readings=tuple(meant.get(reading.row, reading) for reading in case.readings))
        for test, _, nominal in self.nominal:
            if test == case.test:
                case = _with_nominal(case, nominal)
        return case


def joined(first: Slip, second: Slip) -> Slip:
    """Return one slip for two of a kind that stand in neighbouring rows; of two fields, that of more rows."""
    larger, smaller = (first, second) if len(first.written) >= len(second.written) else (second, first)
    meant = smaller.meant
    if larger.field != smaller.field and larger.factor is not None:  # a factor on the one is one over it on the other
        field, by = larger.field, larger.factor
        meant = tuple(with_number(reading, field, getattr(reading, field) / by) for reading in smaller.written)
    row = lambda reading: reading.row  # noqa: E731
    return replace(
        larger,
        written=tuple(sorted((*larger.written, *smaller.written), key=row)),
        meant=tuple(sorted((*larger.meant, *meant), key=row)),
    )


def with_number(reading: Reading, field: str, value: float) -> Reading:
    """Return the reading with another output, or another level (``applied``)."""
    return replace(reading, output=value) if field == OUTPUT else replace(reading, applied=value)


def with_output_of(reading: Reading, other: Reading) -> Reading:
    """Return the reading with what came out in another row."""
    return replace(reading, output=other.output, output_unit=other.output_unit, output_decimals=other.output_decimals)


def not_known(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings excluded, because what was read in them is not known."""
    return tuple(replace(reading, exclude=UNKNOWN) for reading in readings)


def _with_nominal(case: Case, nominal: float) -> Case:
    if case.test == SENSOR_ALONE:
        return case.with_sensor(nominal_sensitivity=nominal)
    if case.test == MODULE_ALONE and case.channel.module is not None:
        return case.with_channel(module=replace(case.channel.module, nominal_sensitivity=nominal))
    return case.with_channel(nominal_sensitivity=nominal)
