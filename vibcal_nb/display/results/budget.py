"""An uncertainty budget as a table."""

from __future__ import annotations

from vibcal_nb.display.writing.numbers import NONE, coverage, freedom, uncertainty_text
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY, Expanded
from vibcal_nb.metrology.uncertainty.dominant_rectangle import expand_budget


def budget_table(budget: Budget, *, caption: str, probability: float = PROBABILITY) -> Table:
    """An uncertainty budget: one row a contribution, the largest first, then the combination."""
    lines = sorted(budget.lines, key=lambda line: -line.contribution)
    expanded = expand_budget(budget, probability=probability)
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
    rows.append(Row(cells=(name, "", "", "", U, "", "", "", _factor(expanded))))
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


def _factor(expanded: Expanded) -> str:
    """The coverage factor, and whose distribution it belongs to where that is not the usual one."""
    if expanded.dominated_by is None:
        return f"k = {expanded.k:.2f}"
    return f"k = {expanded.k:.2f} of a rectangular distribution: {expanded.dominated_by} dominates (EA-4/02 M:2022, S9)"
