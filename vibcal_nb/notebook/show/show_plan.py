"""A plan as tables and as a figure: the points, what stays out of reach, what the plan would find."""

from __future__ import annotations

from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.analysis.planning.more_readings import PlanPower
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.display.planning.plan_plots import plan_picture
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import NONE, frequency, number
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE
from vibcal_nb.notebook.show import show

_TESTS = (LINEARITY, BAND_RESPONSE, SENSOR_ALONE)


def _expected(output: ExpectedOutput | None) -> tuple[str, ...]:
    if output is None:
        return (NONE,) * 3
    return tuple(number(value, digits=4) for value in (output.lowest, output.expected, output.highest))


def show_points(plan: ChannelPlan) -> None:
    """Show the points of a plan, test by test, with what a good channel puts out."""
    tests = dict.fromkeys(point.test for point in plan.points)
    show.table(*(_points_table(plan, test) for test in tests))


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


def show_gaps(plan: ChannelPlan) -> None:
    """Show what will stay unverified and what would cover it, and the cautions on the payload."""
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
    show.table(Table(caption=caption, headings=headings, rows=tuple(rows), text_columns=(0, 3), note=note))


def show_power(power: PlanPower) -> None:
    """Show the chance of finding each fault, and what a few more readings would add."""
    show.table(_power_table(power), _suggestions_table(power))


def _power_table(power: PlanPower) -> Table:
    rows = [
        Row(cells=(f.fault.name, _chance(f.probability), *(_chance(f.by_test.get(test)) for test in _TESTS)))
        for f in power.figures
    ]
    smallest = power.smallest_gain_error_pct
    found = "not even 50 %" if smallest is None else f"{smallest:.1f} %"
    trials = power.figures[0].trials
    return Table(
        caption="Chance that this plan finds a fault",
        headings=("fault", "found", *(spoken(test) for test in _TESTS)),
        rows=tuple(rows),
        note=f"By {trials} simulated visits. Smallest gain error (reading low) found 19 times in 20: {found}.",
    )


def _chance(probability: float | None) -> str:
    if probability is None:
        return NONE
    if 0.0 < probability < 0.01 or 0.99 < probability < 1.0:
        return "below 1 %" if probability < 0.5 else "above 99 %"
    return f"{100.0 * probability:.0f} %"


def _suggestions_table(power: PlanPower) -> Table:
    rows = tuple(
        Row(
            cells=(
                item.what,
                str(len(item.extra)),
                item.before.fault.name,
                f"{_chance(item.before.probability)} → {_chance(item.after.probability)}",
            )
        )
        for item in power.suggestions
    )
    caption = (
        "Readings that would raise it, the most for the fewest first" if rows else "No few readings would add much"
    )
    return Table(caption=caption, headings=("reading", "how many", "fault", "found"), rows=rows, text_columns=(0, 2))


def show_reach(plan: ChannelPlan) -> None:
    """Show the shaker's reach over frequency with the planned points and the set points."""
    show.picture(plan_picture(plan))
