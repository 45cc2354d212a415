"""A plan as tables and as a figure: the points, what stays out of reach, what the plan would find."""

from __future__ import annotations

from vibcal_nb.analysis.planning.more_readings import PlanPower
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.display.planning.plan_plots import plan_picture
from vibcal_nb.display.planning.plan_tables import gaps_table, points_tables
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import NONE
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.names import BAND_RESPONSE, LINEARITY, SENSOR_ALONE
from vibcal_nb.notebook.show import show

_TESTS = (LINEARITY, BAND_RESPONSE, SENSOR_ALONE)


def show_points(plan: ChannelPlan) -> None:
    """Show the points of a plan, test by test, with what a good channel puts out."""
    show.table(*points_tables(plan))


def show_gaps(plan: ChannelPlan) -> None:
    """Show what will stay unverified and what would cover it, and the cautions on the payload."""
    show.table(gaps_table(plan))


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
