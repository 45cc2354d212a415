"""The sentences in which a slip is asked about: what stands there, what is expected, what was probably meant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from vibcal_nb.analysis.slips.slip_kinds import (
    APPLIED,
    DIGITS,
    FACTOR,
    FREQUENCY,
    NO_ONE_SLIP,
    NOMINAL,
    OUTPUT,
    OUTSIDE,
    ROW_BEFORE,
    STUCK,
    SWAPPED,
    UNIT,
)
from vibcal_nb.model.readings import Reading

WORDS = {OUTPUT: "output", APPLIED: "level"}
_ROOTS = {2.0**0.5: "√2", 8.0**0.5: "2√2"}


class Asked(Protocol):
    """What a question is made from: see ``slip.Slip``."""

    @property
    def kind(self) -> str: ...  # noqa: D102
    @property
    def rows(self) -> tuple[int, ...]: ...  # noqa: D102
    @property
    def tests(self) -> tuple[str, ...]: ...  # noqa: D102
    @property
    def written(self) -> tuple[Reading, ...]: ...  # noqa: D102
    @property
    def meant(self) -> tuple[Reading, ...]: ...  # noqa: D102
    @property
    def field(self) -> str: ...  # noqa: D102
    @property
    def factor(self) -> float | None: ...  # noqa: D102
    @property
    def cause(self) -> str: ...  # noqa: D102
    @property
    def expected(self) -> float | None: ...  # noqa: D102
    @property
    def limits(self) -> tuple[float, float] | None: ...  # noqa: D102
    @property
    def nominal(self) -> tuple[tuple[str, float, float], ...]: ...  # noqa: D102


def compose_question(slip: Asked) -> str:
    """Ask a person about a slip, in one sentence or two."""
    first = slip.written[0]
    tests = " and ".join(slip.tests)
    return f"{first.channel}, {tests} {first.condition}, {rows_text(slip.rows)}: {_ASK[slip.kind](slip)}"


def rows_text(rows: Sequence[int]) -> str:
    """Name rows: ``row 4``, ``rows 4 and 5``, ``rows 4 to 9``, ``rows 4, 7, 9``."""
    if len(rows) == 1:
        return f"row {rows[0]}"
    if len(rows) == 2:
        return f"rows {rows[0]} and {rows[1]}"
    if list(rows) == list(range(rows[0], rows[-1] + 1)):
        return f"rows {rows[0]} to {rows[-1]}"
    shown = ", ".join(map(str, rows[:6]))
    return f"rows {shown}" + (f" and {len(rows) - 6} more" if len(rows) > 6 else "")


def factor_text(factor: float) -> str:
    """Write a factor as one says it: ``10``, ``1/√2``."""
    upward = max(factor, 1.0 / factor)
    text = next((name for value, name in _ROOTS.items() if abs(value / upward - 1.0) < 1e-9), f"{upward:.6g}")
    return text if factor > 1.0 else f"1/{text}"


def number(value: float, decimals: int | None) -> str:
    """Write a number with the digits that were typed, or to four significant digits."""
    if decimals is not None and 0 <= decimals <= 9 and round(value, decimals) != 0.0:
        return f"{value:.{decimals}f}"
    return f"{value:.4g}"


def _written(reading: Reading, field: str) -> str:
    if field == OUTPUT:
        return f"{number(reading.output, reading.output_decimals)} {reading.output_unit}"
    return f"{number(reading.applied, reading.applied_decimals)} {reading.applied_unit}"


def _expected(slip: Asked) -> str:
    return f"about {slip.expected:.3g} {slip.written[0].output_unit}"


def _factor(slip: Asked) -> str:
    first, what = slip.written[0], WORDS[slip.field]
    stands, meant = _written(first, slip.field), _written(slip.meant[0], slip.field)
    times = f"{factor_text(slip.factor or 1.0)} times what the other readings lead one to expect"
    if len(slip.written) == 1:
        return f"the {what} {stands} is {times}. Was {meant} meant ({slip.cause})?"
    return (
        f"the {what}s are {times}, such as {stands} in row {first.row} where {meant} would fit. Was that meant "
        f"({slip.cause})?"
    )


def _unit(slip: Asked) -> str:
    written, usual = getattr(slip.written[0], slip.field), getattr(slip.meant[0], slip.field)
    noun = "reading" if len(slip.written) == 1 else "readings"
    return f"the unit is {written} where other rows have {usual}; in {usual} the {noun} would fit. Was {usual} meant?"


def _digits(slip: Asked) -> str:
    written, right = _written(slip.written[0], slip.field), _written(slip.meant[0], slip.field)
    return f"the {WORDS[slip.field]} is {written}. Were two digits exchanged, and {right} meant?"


def _outside(slip: Asked) -> str:
    first = slip.written[0]
    if slip.cause == NO_ONE_SLIP:
        reads = f"{_written(first, OUTPUT)} at {_written(first, APPLIED)}"
        return (
            f"{len(slip.written)} rows stand apart, such as row {first.row} with {reads}, where {_expected(slip)} is "
            f"expected from the others. {slip.cause}: is it the channel?"
        )
    if slip.limits is not None:
        low, high = slip.limits
        reads = f"{_written(first, OUTPUT)} at {_written(first, APPLIED)}"
        return (
            f"outside the planned limits; row {first.row} reads {reads}, where {low:.4g} to {high:.4g} is planned. "
            "Is it the channel, or was it written down wrongly?"
        )
    return (
        f"the output {_written(first, OUTPUT)} at {_written(first, APPLIED)} stands apart; {_expected(slip)} is "
        "expected from the other readings. Was it read and written down right?"
    )


def _swapped(slip: Asked) -> str:
    one, other = (_written(reading, OUTPUT) for reading in slip.written)
    return f"{one} and {other} would each fit the other row. Were the two rows exchanged?"


def _stuck(slip: Asked) -> str:
    first = slip.written[0]
    return (
        f"the {WORDS[slip.field]} {_written(first, slip.field)} also stands in {slip.cause}, where another is "
        f"expected; row {first.row} should read {_expected(slip)}. Was the {WORDS[slip.field]} read anew?"
    )


def _row_before(slip: Asked) -> str:
    first = slip.written[0]
    return (
        f"each output fits the level of the row {slip.cause}, such as {_written(first, OUTPUT)} in row {first.row}. "
        "Was a line skipped, or a value written twice?"
    )


def _frequency(slip: Asked) -> str:
    written, right = slip.written[0].frequency_hz, slip.meant[0].frequency_hz
    return f"the frequency {written:.6g} Hz is out of place. Was {right:.4g} Hz meant ({slip.cause})?"


def _nominal(slip: Asked) -> str:
    _, stands, right = slip.nominal[0]
    return (
        f"all readings are {factor_text(slip.factor or 1.0)} times what the nominal sensitivity {stands:g} gives. Was "
        f"{right:.4g} meant ({slip.cause}), were the readings written so, or is it a fault of the channel?"
    )


_ASK: dict[str, Callable[[Asked], str]] = {
    OUTSIDE: _outside,
    FACTOR: _factor,
    DIGITS: _digits,
    SWAPPED: _swapped,
    STUCK: _stuck,
    ROW_BEFORE: _row_before,
    FREQUENCY: _frequency,
    UNIT: _unit,
    NOMINAL: _nominal,
}
