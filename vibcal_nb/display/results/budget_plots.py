"""Figure of uncertainty budgets: the contributions as bars, one budget beside the other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.drawing.plot_parts import Axes, explain, few_numbers
from vibcal_nb.display.style import GREY, INK
from vibcal_nb.metrology.uncertainty.budget import Budget

_ROW = 0.24  # inches


def budgets_picture(budgets: Sequence[tuple[str, Budget]]) -> Picture:
    """Return the bars of one or more budgets, each with the name of what it is of; all on one scale."""
    names = _names(budgets)

    def draw(figure: Any) -> None:
        columns = axes_grid(figure, columns=len(budgets), left=190.0, right=20.0, top=40.0, across=20.0)[0]
        most = max(line.contribution for _, budget in budgets for line in budget.lines)
        for number, ((name, budget), ax) in enumerate(zip(budgets, columns, strict=True)):
            draw_budget(budget, names, ax)
            ax.set(title=name, xlim=(0.0, 1.06 * most or 1.0))
            ax.set_yticks(range(len(names)), names if number == 0 else [""] * len(names))
        explain(columns[0], "common to all readings, does not average down", "grey: independent")

    return draw_picture(1.1 + _ROW * len(names), draw, text=budgets_text(budgets))


def budgets_text(budgets: Sequence[tuple[str, Budget]]) -> str:
    """Say in words what the figure shows."""
    largest = [f"at {name} {max(budget.lines, key=lambda line: line.contribution).name}" for name, budget in budgets]
    return f"Bars of the contributions to the uncertainty; the largest is {', '.join(largest)}."


def draw_budget(budget: Budget, names: Sequence[str], ax: Axes) -> Axes:
    """Draw the standard uncertainty of each contribution in its row."""
    rows = {name: row for row, name in enumerate(names)}
    lines = budget.lines
    colours = [INK if line.kind == "common" else GREY for line in lines]
    ax.barh([rows[line.name] for line in lines], [line.contribution for line in lines], color=colours, height=0.62)
    ax.set_ylim(len(names) - 0.5, -0.5)
    ax.grid(axis="y", visible=False)
    few_numbers(ax.xaxis, 5)
    ax.set_xlabel("standard uncertainty, %")
    return ax


def _names(budgets: Sequence[tuple[str, Budget]]) -> list[str]:
    """The names of all contributions, the largest first."""
    largest: dict[str, float] = {}
    for _, budget in budgets:
        for line in budget.lines:
            largest[line.name] = max(largest.get(line.name, 0.0), line.contribution)
    return sorted(largest, key=lambda name: -largest[name])
