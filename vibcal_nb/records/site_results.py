"""Where the results of a site come from: the register of a records folder, or the readings of a site folder."""

from __future__ import annotations

import gc
import json
from collections.abc import Iterator, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.history import Observation
from vibcal_nb.analysis.of_tests import ANALYSE
from vibcal_nb.analysis.site_results import Instrument, SetPointReach, SiteResult
from vibcal_nb.inputs.case import NothingToAnalyse, list_cases, select_case
from vibcal_nb.inputs.folder import find_visits, load_visits
from vibcal_nb.records.quantities import result_entry
from vibcal_nb.records.register import read_columns, register_path


def read_site(folder: Path) -> list[SiteResult]:
    """Read the results of a records folder from its register, or analyse the readings of a site folder.

    A folder without a register that holds visits is a site folder. Results without a summary (none that this
    version made) are passed over. Raises ``RegisterUnusable`` or ``InputRefused``.
    """
    if not register_path(folder).is_file() and any(folder.glob("**/visit.toml")):
        return list(_analysed(folder))
    rows = read_columns(register_path(folder), _COLUMNS)
    running = gc.isenabled()
    gc.disable()  # of so many small objects that all stay, the collector would look through all again and again
    try:
        found = [_from_row(*row) for row in rows]
    finally:
        if running:
            gc.enable()
    return [item for item in found if item is not None]


def _analysed(folder: Path) -> Iterator[SiteResult]:
    for visit in load_visits(find_visits(folder)):
        for channel, test, condition in list_cases(visit):
            if test not in ANALYSE:
                continue
            try:
                entry = result_entry(ANALYSE[test](select_case(visit, channel=channel, test=test, condition=condition)))
            except NothingToAnalyse:
                continue
            yield _result(entry, entry["summary"], record="")


def _from_row(
    channel: str, analysis: str, condition: str, verdict: str, record: str, summary: str
) -> SiteResult | None:
    said = json.loads(summary)
    if not said.get("date"):
        return None
    entry = {"channel": channel, "analysis": analysis, "condition": condition, "verdict": verdict}
    return _result(entry, said, record=record)


_COLUMNS = ("channel", "analysis", "condition", "verdict", "record", "summary")
_INSTRUMENT = ("id", "kind", "serial", "calibrated", "due")


@cache
def _day(text: str) -> date:
    return date.fromisoformat(text)


def _result(entry: Mapping[str, Any], summary: Mapping[str, Any], *, record: str) -> SiteResult:
    worst = summary.get("worst") or {}
    return SiteResult(
        asset=summary["asset"],
        channel=entry["channel"],
        location=summary.get("location", ""),
        visit=summary["visit"],
        date=_day(summary["date"]),
        analysis=entry["analysis"],
        condition=entry["condition"],
        verdict=entry["verdict"],
        margin_pct=worst.get("margin_pct"),
        worst=worst.get("name"),
        record=record,
        observations=tuple(_observation(item, entry, summary) for item in summary["sensitivities"]),
        set_points=tuple(SetPointReach(**item) for item in summary["set_points"]),
        equipment=tuple(_instrument(*(item[name] for name in _INSTRUMENT)) for item in summary["equipment"]),
    )


@cache
def _instrument(*values: str) -> Instrument:
    named: dict[str, Any] = dict(zip(_INSTRUMENT, values, strict=True))
    named |= {name: _day(named[name]) for name in ("calibrated", "due")}
    return Instrument(**named)


def _observation(item: Mapping[str, Any], entry: Mapping[str, Any], summary: Mapping[str, Any]) -> Observation:
    return Observation(
        quantity=item["name"],
        date=_day(summary["date"]),
        visit=summary["visit"],
        condition=entry["condition"],
        deviation_pct=item["deviation_pct"],
        u_own_pct=item["u_own_pct"],
        nu_own=float("inf") if item["nu_own"] is None else item["nu_own"],
        shared_pct=item["shared_pct"],
        tolerance_pct=item["tolerance_pct"],
        verdict=entry["verdict"],
    )
