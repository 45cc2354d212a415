"""How a gap curve is shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vibcal_nb.analysis.gap_curve.gap_curve import GapCurveResult, analyse_gap_curve
from vibcal_nb.display.gap_curve.gap_card import gap_quantities, gap_sentence
from vibcal_nb.display.gap_curve.gap_plots import HEIGHT, SHOWS, draw_gap_curve, gap_axes
from vibcal_nb.display.gap_curve.gap_statements import word_gap_curve
from vibcal_nb.display.gap_curve.gap_tables import gap_columns, gap_points, gap_summary
from vibcal_nb.display.results.view import Control, Drawing, Grip, View, WhatIf, either_side, rule_in_short
from vibcal_nb.metrology.conformity.decision import FAILING
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.model.case import Case


def _not_shown(_: GapCurveResult) -> tuple[str, ...]:
    return (
        "how the probe follows a vibration: its dynamic test stands by itself",
        "how the probe reads against the shaft itself: its material, curvature and run-out are not those of a target",
    )


def _budgets(result: GapCurveResult) -> tuple[tuple[str, Budget], ...]:
    if result.average is None or not result.runs:
        return ()
    low, high = min(run.gap[0] for run in result.runs), max(run.gap[-1] for run in result.runs)
    return ((f"gaps from {low:.4g} to {high:.4g} {result.specification.input_unit}", result.average.budget),)


def _limits(result: GapCurveResult) -> str:
    found = result.specification
    parts = [] if found.incremental_pct is None else [f"increments ± {found.incremental_pct:g} %"]
    parts += [] if found.deviation_um is None else [f"{found.deviation_um:g} µm from the line"]
    return "; ".join([*parts, rule_in_short(result.rule).lower().replace("rule: ", "")])


def _controls(result: GapCurveResult) -> tuple[Control, ...]:
    found = result.specification
    stated = (
        ("incremental_pct", "increments, ± %", found.incremental_pct, 20.0),
        ("deviation_um", "from the best line, ± um", found.deviation_um, 200.0),
    )
    return tuple(
        Control(name=name, label=label, kind="share", value=value, most=most)
        for name, label, value, most in stated
        if value is not None
    )


def _change(case: Case, values: Mapping[str, Any]) -> Case:
    return case.with_gap_curve(**{name: values[name] for name in _PANES if name in values})


_PANES = {"incremental_pct": 1, "deviation_um": 2}


def _grips(result: GapCurveResult) -> Iterator[Grip]:
    """The limits of the increments in the middle, of the deviation from the line on the right."""
    for name, pane in _PANES.items():
        if getattr(result.specification, name) is not None:
            yield from either_side(name, pane)


def _next_steps(result: GapCurveResult) -> Iterator[str]:
    if result.verdict in FAILING:
        yield (
            "check that the probe, its cable's length and its converter belong together and that the target is of the "
            "material they are made for, then read the curve again; renew what is off"
        )


VIEW = View(
    words=word_gap_curve,
    sentence=gap_sentence,
    quantities=gap_quantities,
    summary=gap_summary,
    columns=gap_columns,
    points=gap_points,
    not_shown=_not_shown,
    next_steps=_next_steps,
    budgets=_budgets,
    drawing=Drawing(axes=gap_axes, draw=draw_gap_curve, shows=SHOWS, height=lambda _: HEIGHT),
    what_if=WhatIf(
        limits=_limits,
        controls=_controls,
        change=_change,
        analyse=analyse_gap_curve,
        grips=lambda result: tuple(_grips(result)),
    ),
)
