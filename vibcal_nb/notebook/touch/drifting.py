"""A channel's history as something to explore: which visits, which interval, which probability."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from vibcal_nb.analysis.drift.drift import DriftResult, DriftSettings
from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.display.drawing.light_figure import LightFigure
from vibcal_nb.display.drift.drift_tables import intervals_table, trend_table
from vibcal_nb.display.results.figures import alternative_text, draw_into, drawing_of, make_axes
from vibcal_nb.display.results.verdict_html import verdict_reasons_html
from vibcal_nb.display.results.view import Control
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import fixed
from vibcal_nb.model.names import AS_FOUND, DRIFT
from vibcal_nb.notebook.touch.exploration import Stand
from vibcal_nb.notebook.touch.subject import RECORD, AnyControl, Data, Outcome
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.records.perform.history import ChannelHistory, analyse_history

_K = 2.0
_MOST_PCT = 99.9
_STEPS = {
    "current_months": "interval, months",
    "extend_months": "a step longer, months",
    "shorten_months": "a step shorter, months",
    "longest_months": "never longer, months",
}
_SHARES = {
    "conformity_level": "probability of being within tolerance, %",
    "target_reliability": "share of like channels in tolerance, %",
}


class DriftSubject:
    """The drift of a channel; see `subject.Subject`. What can be left out are its visits, by their dates."""

    base, each = RECORD, "visit"

    def __init__(self, history: ChannelHistory, result: DriftResult) -> None:
        case = history.case
        self._history, self._result = history, result
        self.name = f"{case.channel.tag}, {spoken(DRIFT)}"
        self.parts: tuple[str, ...] = (case.channel.tag, case.visit_name, DRIFT, AS_FOUND)
        self.controls = _controls(history.settings)
        self.record = Stand(values={c.name: c.value for c in self.controls}, left_out={})
        self._visits = _by_visit(history.observations)
        self.rows = frozenset(self._visits)
        self.texts: Mapping[int, str] = {row: items[0].date.isoformat() for row, items in self._visits.items()}
        self.units: list[Data] = []

    def begun(self) -> Outcome:
        """Return what the record shows."""
        return self._outcome(self._result)

    def at(self, stand: Stand) -> Outcome:
        """Return what comes of another stand. Raises ``NothingToAnalyse`` where no visit is left."""
        kept = [item for row, items in self._visits.items() if row not in stand.left_out for item in items]
        if not kept:
            raise NothingToAnalyse("A drift needs a visit at least; take one back first.")
        settings = _settings(self._history.settings, self.record, stand)
        return self._outcome(analyse_history(replace(self._history, observations=tuple(kept), settings=settings)))

    def _outcome(self, result: DriftResult) -> Outcome:
        figure = LightFigure(drawing_of(result).height(result))
        draw_into(result, make_axes(result, figure))
        data = figure.data() | {"text": alternative_text(result)}
        for pane in data["panes"]:
            pane["ratio"] = False
        return Outcome(
            answer=result.verdict,
            figure=data,
            readings=_visits_table(self._visits),
            summary=intervals_table(result).to_html() + trend_table(result).to_html(),
            reasons=lambda: verdict_reasons_html(result),
            result=result,
        )


def _by_visit(observations: Sequence[Observation]) -> dict[int, list[Observation]]:
    ordered = sorted(observations, key=lambda item: item.date)
    return {day.toordinal(): list(items) for day, items in groupby(ordered, key=lambda item: item.date)}


def _controls(settings: DriftSettings) -> tuple[AnyControl, ...]:
    months = tuple(
        Control(name=name, label=label, kind="share", value=getattr(settings.steps, name), most=120.0, step=1.0)
        for name, label in _STEPS.items()
    )
    shares = tuple(
        Control(name=name, label=label, kind="share", value=100.0 * getattr(settings, name), most=_MOST_PCT)
        for name, label in _SHARES.items()
    )
    return (*months, *shares)


def _settings(stated: DriftSettings, record: Stand, stand: Stand) -> DriftSettings:
    """Return the settings of a stand; what is not changed stays to the last digit.

    Raises ``NothingToAnalyse`` where they cannot be used.
    """
    changed = {name: value for name, value in stand.values.items() if value != record.values[name]}
    beyond = next((label for name, label in _SHARES.items() if changed.get(name, 0.0) > _MOST_PCT), None)
    if beyond is not None:
        raise NothingToAnalyse(f"{beyond}: give {_MOST_PCT:g} at most.")
    if stand.values["longest_months"] < stated.steps.shortest_months:
        raise NothingToAnalyse(f"{_STEPS['longest_months']}: give {stated.steps.shortest_months:g} at least.")
    steps = replace(stated.steps, **{name: changed[name] for name in _STEPS if name in changed})
    return replace(stated, steps=steps, **{name: changed[name] / 100.0 for name in _SHARES if name in changed})


def _visits_table(visits: dict[int, list[Observation]]) -> Data:
    """One row a visit: what was observed, and the largest deviation, by which it is sorted."""
    rows = []
    for row, items in visits.items():
        worst = max(items, key=lambda item: abs(item.deviation_pct))
        said = "; ".join(f"{item.quantity}, {spoken(item.condition)}: {_observed(item)}" for item in items)
        rows.append(
            {
                "row": row,
                "cells": [items[0].date.isoformat(), _observed(worst), said],
                "sort": [float(row), worst.deviation_pct, None],
                "name": f"visit {items[0].date.isoformat()}, {said}",
            }
        )
    return {
        "headings": ["visit", "largest deviation, %", "observed"],
        "numeric": [True, True, False],
        "readings": rows,
    }


def _observed(item: Observation) -> str:
    return f"{fixed(item.deviation_pct, signed=True)} ± {fixed(_K * item.u_pct)}"
