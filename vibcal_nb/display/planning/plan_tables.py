"""A plan as tables: its points with what a good channel puts out, and what stays out of reach."""

from __future__ import annotations

from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import NONE, frequency, number
from vibcal_nb.display.writing.table import Row, Table


def _expected(output: ExpectedOutput | None) -> tuple[str, ...]:
    if output is None:
        return (NONE,) * 3
    return tuple(number(value, digits=4) for value in (output.lowest, output.expected, output.highest))


def points_tables(plan: ChannelPlan) -> tuple[Table, ...]:
    """Return the points of a plan, a table a test, with what a good channel puts out."""
    return tuple(_points_table(plan, test) for test in dict.fromkeys(point.test for point in plan.points))


def _points_table(plan: ChannelPlan, test: str) -> Table:
    points = plan.of_test(test)
    unit, output_unit = points[0].applied_unit, points[0].output_unit
    rows = tuple(
        Row(
            cells=(
                frequency(p.frequency_hz) if p.frequency_hz else NONE,
                number(p.level, digits=3),
                *_expected(p.output),
                p.purpose,
            )
        )
        for p in points
    )
    return Table(
        caption=f"{spoken(test).capitalize()}: {len(points)} readings on {plan.shaker.id}, {plan.moving_mass_kg:g} kg",
        headings=("frequency", f"level, {unit}", f"lowest, {output_unit}", "expected", "highest", "what for"),
        rows=rows,
        text_columns=(5,),
    )


def gaps_table(plan: ChannelPlan) -> Table:
    """Return what will stay unverified and what would cover it, and the cautions on the payload."""
    rows = [
        Row(
            cells=(
                gap.what,
                f"{gap.level:.4g} {gap.unit}",
                f"{gap.reached:.3g} ({gap.limited_by})",
                "; or ".join(gap.covers),
            )
        )
        for gap in plan.out_of_reach
    ]
    note = " ".join(f"{caution}." for caution in plan.cautions)
    caption = "What will stay unverified" if rows else "Nothing that this channel needs is out of reach"
    headings = ("what", "needed", "reached (limit)", "what would cover it")
    return Table(caption=caption, headings=headings, rows=tuple(rows), text_columns=(0, 3), note=note)
