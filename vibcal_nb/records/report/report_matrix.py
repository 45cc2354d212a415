"""What was judged, a row a quantity, as found and as left beside one another; and the set points likewise."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.views import VIEWS, view_of
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import frequency, uncertainty_text
from vibcal_nb.model.names import CHANNEL_VERDICT, CONDITIONS, MODULE_ALONE
from vibcal_nb.records.report.report_answer import chip
from vibcal_nb.records.report.sealed_result import SealedResult

_READING = re.compile(r" \(row \d+\)|,? at [\d.]+ k?Hz$")
"""What tells which reading was the worst, and differs between as found and as left."""


def report_matrix(items: Sequence[SealedResult]) -> list[dict[str, Any]]:
    """Return the tests, each with its rows: ``name``, ``limit`` and by condition ``value`` and ``chip``, None for none.

    The module alone stands among them.
    """
    tests: dict[str, dict[str, dict[str, Any]]] = {}
    for test, condition, quantity in _quantities(items):
        name = _READING.sub("", quantity.name) if "worst" in quantity.name else quantity.name
        row = tests.setdefault(test, {}).setdefault(name, {"name": name, "limit": quantity.limit})
        row[condition] = {"value": quantity.value or quantity.why, "chip": chip(quantity.verdict)}
    order = list(VIEWS)
    names = sorted(tests, key=order.index)
    return [{"test": spoken(test), "rows": [_filled(row) for row in tests[test].values()]} for test in names]


def _quantities(items: Sequence[SealedResult]) -> Iterator[tuple[str, str, Quantity]]:
    for item in items:
        if item.result is not None:
            for quantity in view_of(item.result).quantities(item.result):
                yield item.analysis, item.condition, quantity
        if item.module is not None:
            for result in item.module.results:
                for quantity in view_of(result).quantities(result):
                    yield MODULE_ALONE, item.condition, quantity


def _filled(row: dict[str, Any]) -> dict[str, Any]:
    return {**dict.fromkeys(CONDITIONS), **row}


def set_point_rows(items: Sequence[SealedResult]) -> list[dict[str, Any]]:
    """Return a row a set point and speed: where it is set, and by condition where it comes in true vibration."""
    rows: dict[tuple[Any, ...], dict[str, Any]] = {}
    for item in items:
        if item.analysis == CHANNEL_VERDICT:
            for point in item.entry["quantities"]["reach"]:
                key = tuple(point[name] for name in ("rotor", "frequency_hz", "set_point", "set_level"))
                row = rows.setdefault(key, _filled(_set_point(point)))
                row[item.condition] = _true_level(point)
    return list(rows.values())


def _set_point(point: dict[str, Any]) -> dict[str, Any]:
    rotor = f" ({point['rotor']})" if point["rotor"] else ""
    return {
        "name": f"{point['set_point']} at {frequency(point['frequency_hz'])}{rotor}",
        "set": f"{point['set_level']:g}",
    }


def _true_level(point: dict[str, Any]) -> dict[str, str]:
    level, expanded = point["true_level"], point["expanded_uncertainty"]
    if level is None or expanded is None:
        return {"value": "", "status": point["status"]}
    spread = uncertainty_text(expanded)
    decimals = len(spread.partition(".")[2])
    return {"value": f"{level:.{decimals}f} ± {spread}", "status": point["status"]}


def set_point_unit(items: Sequence[SealedResult]) -> str:
    """The unit of the set points."""
    return next(item.result.case.channel.input_unit.shown for item in items if item.result is not None)
