"""The limits beside each row of a sheet, as formulas: they follow the level, the unit and the row, also of a retake.

Three hidden sheets beside the readings. *limits*: what a good channel gives, one row for each test and frequency of a
channel. *units*: what each unit is in the base unit of its quantity. *work*: one row for each row of the readings, with
the limits that hold for it, its level in their unit, what is allowed there, and the factor into the unit of its output.
So a person may write another unit or detector, set another frequency within 1 %, or read again further down. Where
nothing is planned, or the units do not fit, there is no limit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from vibcal_nb.analysis.planning.expected_output import Expectation
from vibcal_nb.analysis.planning.plan import ChannelPlan, PlannedPoint
from vibcal_nb.units import GAP, Unit, convert, gap_unit_texts, unit_of_text, unit_texts

LIMITS, UNITS, WORK = "limits", "units", "work"
OFFERED = (*unit_texts(), *gap_unit_texts())
"""The units that a workbook offers."""
_BASES = {
    "acceleration": "m/s2 pk",
    "velocity": "m/s pk",
    "displacement": "m pk",
    "voltage": "V pk",
    "current": "A pk",
    "charge": "pC pk",
    GAP: "m",
}
_POWERS = {"acceleration": 0, "velocity": 1, "displacement": 2}  # of the angular frequency in an acceleration
_SAME_FREQUENCY = 0.01
_HEADINGS = (
    *("channel", "test", "frequency_hz", "zero", "expected", "low", "high", "of_reading", "of_span", "absolute"),
    *("larger", "applied_factor", "applied_power", "output_factor", "applied_kind", "output_kind"),
)


def kind_of(unit: Unit) -> str:
    """Name what a unit converts to: any vibration, or the same electrical quantity, alternating or direct."""
    if unit.is_vibration:
        return "vibration"
    if unit.quantity == GAP:
        return GAP
    return f"{unit.quantity} {'dc' if unit.detector == 'dc' else 'ac'}"


def factor_of(unit: Unit) -> float:
    """Return the value of 1 ``unit`` in the base unit of its quantity, peak or dc."""
    base = _BASES[unit.quantity]
    return float(convert(1.0, unit, unit_of_text(base.replace("pk", "dc") if unit.detector == "dc" else base)))


def write_limits(book: Any, plans: Sequence[ChannelPlan], *, first: int, last: int, place: dict[str, str]) -> None:
    """Add the hidden sheets for the readings' rows ``first`` to ``last``; ``place`` gives the columns' letters."""
    rows = list(_limit_rows(plans))
    _fill(book, LIMITS, [_HEADINGS, *rows])
    units = [unit_of_text(text) for text in OFFERED]
    _fill(book, UNITS, [("unit", "kind", "factor", "power"), *(_unit_row(unit) for unit in units)])
    work = book.create_sheet(WORK)
    work.sheet_state = "hidden"
    for number in range(first, last + 1):
        for letter, formula in zip("ABCD", _work_formulas(number, place, limits=len(rows) + 1), strict=True):
            work[f"{letter}{number}"] = formula


def limit_formulas(number: int) -> dict[str, str]:
    """Return the formulas of a row of the readings, by column: what is expected, and between which limits."""
    row, x, allowed, factor = (f"{WORK}!{letter}{number}" for letter in "ABCD")

    def output(column: str, level: str) -> str:
        zero, slope = (f"INDEX({LIMITS}!${c}:${c},{row})" for c in ("D", column))
        return f'=IF(AND(ISNUMBER({allowed}),ISNUMBER({factor})),({zero}+{slope}*({level}))*{factor},"")'

    return {
        "lowest": output("F", f"{x}-{allowed}"),
        "expected": output("E", x),
        "highest": output("G", f"{x}+{allowed}"),
    }


def _fill(book: Any, title: str, rows: Sequence[Sequence[Any]]) -> None:
    sheet = book.create_sheet(title)
    sheet.sheet_state = "hidden"
    for row in rows:
        sheet.append(list(row))


def _unit_row(unit: Unit) -> tuple[Any, ...]:
    return unit.text, kind_of(unit), factor_of(unit), _POWERS.get(unit.quantity, 0)


def _limit_rows(plans: Sequence[ChannelPlan]) -> Iterator[tuple[Any, ...]]:
    seen = set()
    for plan in plans:
        for point in plan.points:
            key = (point.channel, point.test, round(point.frequency_hz, 4))
            if key not in seen and point.expectation is not None:
                seen.add(key)
                yield (*key, *_parameters(point, point.expectation))


def _parameters(point: PlannedPoint, expected: Expectation) -> tuple[Any, ...]:
    tolerance, span = expected.tolerance, expected.full_scale or 0.0
    slopes = (expected.slope * part for part in (expected.shape, expected.low, expected.high))
    return (
        expected.zero,
        *slopes,
        (tolerance.reading_pct or 0.0) / 100.0,
        (tolerance.span_pct or 0.0) / 100.0 * span,
        tolerance.absolute or 0.0,
        int(tolerance.rule == "larger"),
        factor_of(point.applied_unit),
        _POWERS.get(point.applied_unit.quantity, 0),
        factor_of(point.output_unit),
        kind_of(point.applied_unit),
        kind_of(point.output_unit),
    )


def _work_formulas(number: int, place: dict[str, str], *, limits: int) -> tuple[str, str, str, str]:
    """Which row of the limits holds; the level in its unit; what is allowed there; the factor of the output."""

    def cell(column: str) -> str:
        return f"readings!{place[column]}{number}"

    def of_limit(column: str) -> str:
        return f"INDEX({LIMITS}!${column}:${column},A{number})"

    def of_unit(column: str, what: int) -> str:
        return f"VLOOKUP({cell(column)},{UNITS}!$A:$D,{what},FALSE)"

    def among(column: str) -> str:
        return f"{LIMITS}!${column}$2:${column}${limits}"

    frequency = cell("frequency_hz")
    near = f"(ABS({among('C')}-{frequency})<={_SAME_FREQUENCY}*{frequency})"
    same = f"({among('A')}={cell('channel')})*({among('B')}={cell('test')})*{near}"
    which = f'=IFERROR(MATCH(1,INDEX({same},0),0)+1,"")'
    power = f"({of_unit('applied_unit', 4)}-{of_limit('M')})"
    converted = f"{cell('applied')}*{of_unit('applied_unit', 3)}/{of_limit('L')}*(2*PI()*{frequency})^{power}"
    fits = f"{of_unit('applied_unit', 2)}={of_limit('O')}"
    planned = f'IF(ISNUMBER({cell("planned")}),{cell("planned")},"")'
    level = f'=IFERROR(IF(ISNUMBER({cell("applied")}),IF({fits},{converted},""),{planned}),"")'
    parts = f"{of_limit('H')}*B{number}"
    larger = f"MAX({parts},{of_limit('I')},{of_limit('J')})"
    total = f"{parts}+{of_limit('I')}+{of_limit('J')}"
    allowed = f'=IFERROR(IF(ISNUMBER(B{number}),IF({of_limit("K")}=1,{larger},{total}),""),"")'
    output = f"{of_limit('N')}/{of_unit('output_unit', 3)}"
    factor = f'=IFERROR(IF({of_unit("output_unit", 2)}={of_limit("P")},{output},""),"")'
    return which, level, allowed, factor
