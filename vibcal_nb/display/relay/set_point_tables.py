"""Tables of set points: each level held, and what came of them."""

from __future__ import annotations

from vibcal_nb.analysis.relay.set_points import SetPointFound, SetPointsResult
from vibcal_nb.display.writing.names import capital
from vibcal_nb.display.writing.numbers import NONE, coverage, fixed, frequency, number, with_uncertainty
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.relay.check_rows import SetPointRow


def set_point_points(result: SetPointsResult) -> tuple[Table, ...]:
    """One table a set point and frequency: its rows; then those left out, struck through."""
    return (*(_rows(result, item) for item in result.found), *_left_out(result))


def _rows(result: SetPointsResult, item: SetPointFound) -> Table:
    unit = result.case.channel.input_unit.shown
    at = item.set_point.level if item.estimate is None else item.estimate
    held = sorted(item.approaches.rows, key=lambda pair: (abs(pair[0] - at), pair[1].row))
    what = f"{capital(item.set_point.name)} at {frequency(item.frequency_hz)}"
    return Table(
        caption=f"{what}: levels held, the nearest to its action first, from {result.case.table_file}",
        headings=("row", f"level, {unit}", "acted", "delay, s", "direction", "approach", "note"),
        rows=tuple(Row(cells=_cells(level, row)) for level, row in held),
        text_columns=(2, 4, 6),
    )


def _cells(level: float, row: SetPointRow) -> tuple[str, ...]:
    return (
        str(row.row),
        number(level),
        "yes" if row.acted else "no",
        NONE if row.delay_s is None else fixed(row.delay_s, decimals=row.delay_decimals or 2),
        row.direction or "",
        "" if row.repeat is None else str(row.repeat),
        row.note or "",
    )


def _left_out(result: SetPointsResult) -> tuple[Table, ...]:
    rows = [row for row in result.case.checks if isinstance(row, SetPointRow) and row.exclude is not None]
    if not rows:
        return ()
    return (
        Table(
            caption="Left out",
            headings=("row", "set point", "level", "acted", "because"),
            rows=tuple(
                Row(
                    cells=(
                        str(row.row),
                        row.set_point,
                        f"{number(row.applied)} {row.applied_unit.shown}",
                        "yes" if row.acted else "no",
                        row.exclude or "",
                    ),
                    struck=True,
                )
                for row in rows
            ),
            text_columns=(1, 3, 4),
        ),
    )


def set_point_summary(result: SetPointsResult) -> Table:
    """One row a set point and frequency: set, not acted, acted, level of action, release, delay, how it is known."""
    unit, probability = result.case.channel.input_unit.shown, result.case.visit.decision.coverage_probability
    return Table(
        caption=f"Set points, levels in {unit}",
        headings=(
            "set point",
            "frequency",
            "set",
            "had not acted",
            "had acted",
            "acts at",
            "releases at",
            "delay, s",
            "",
        ),
        rows=tuple(_summary_row(item) for item in result.found),
        text_columns=(0, 8),
        note=f"U for {coverage(probability)}. It acts in the middle of the highest level at which it had not acted "
        "and the lowest at which it had.",
    )


def _summary_row(item: SetPointFound) -> Row:
    approaches, delay = item.approaches, item.delay
    action = NONE if item.estimate is None or item.expanded is None else with_uncertainty(item.estimate, item.expanded)
    return Row(
        cells=(
            item.set_point.name,
            frequency(item.frequency_hz),
            f"{item.set_point.level:g}",
            NONE if approaches.highest_not_acted is None else number(approaches.highest_not_acted),
            NONE if approaches.lowest_acted is None else number(approaches.lowest_acted),
            action,
            NONE if item.release is None else number(item.release.estimate),
            NONE if delay is None else with_uncertainty(delay.mean_s, delay.expanded),
            item.known_as,
        ),
        verdict=item.verdict,
    )
