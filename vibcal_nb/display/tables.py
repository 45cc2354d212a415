"""Tables of results: one way to ask for those of any test, and the uncertainty budget."""

from __future__ import annotations

from functools import singledispatch

from vibcal_nb.analysis.coverage import PROBABILITY
from vibcal_nb.analysis.uncertainty import Budget
from vibcal_nb.display.band_tables import band_points, band_summary
from vibcal_nb.display.linearity_tables import linearity_points, linearity_summary
from vibcal_nb.display.sensor_tables import sensor_points, sensor_summary
from vibcal_nb.display.table import Row, Table
from vibcal_nb.display.wording import NONE, coverage, freedom, uncertainty_text


@singledispatch
def points_tables(result: object) -> tuple[Table, ...]:
    """One row a reading: what was made of it, against which limits."""
    raise TypeError(f"no table for {type(result).__name__}")


@singledispatch
def summary_table(result: object) -> Table:
    """The figures of a result, each with its uncertainty and its limit."""
    raise TypeError(f"no table for {type(result).__name__}")


for _points in (linearity_points, band_points, sensor_points):
    points_tables.register(_points)
for _summary in (linearity_summary, band_summary, sensor_summary):
    summary_table.register(_summary)


def budget_table(budget: Budget, *, caption: str, probability: float = PROBABILITY) -> Table:
    """An uncertainty budget: one row a contribution, the largest first, then the combination."""
    lines = sorted(budget.lines, key=lambda line: -line.contribution)
    expanded = budget.expanded(probability=probability)
    total = expanded.u**2
    rows = [
        Row(
            cells=(
                line.name,
                f"{line.value:.3f} %",
                line.distribution + (f", k = {line.k:g}" if line.k != 1.0 else ""),
                f"{line.divisor:.3f}",
                f"{line.contribution:.3f} %",
                freedom(line.degrees_of_freedom),
                line.kind,
                f"{100.0 * line.contribution**2 / total:.0f} %" if total else NONE,
                line.source,
            )
        )
        for line in lines
    ]
    rows.append(
        Row(cells=("combined", "", "", "", f"{expanded.u:.3f} %", freedom(expanded.nu), "", "", "Welch-Satterthwaite"))
    )
    name, U = f"expanded, {coverage(probability)}", f"{uncertainty_text(expanded.U)} %"
    rows.append(Row(cells=(name, "", "", "", U, "", "", "", f"k = {expanded.k:.2f}")))
    return Table(
        caption=caption,
        headings=(
            "contribution",
            "value",
            "distribution",
            "divisor",
            "u",
            "degrees of freedom",
            "kind",
            "share",
            "source",
        ),
        rows=tuple(rows),
        text_columns=(0, 2, 6, 8),
        note="Common contributions are shared by all readings and do not average down; independent ones do.",
    )
