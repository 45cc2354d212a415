"""Where the results of a site come from: the register of a records folder, or the readings of a site folder."""

from __future__ import annotations

import gc
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from functools import cache
from operator import itemgetter
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.analysis.drift.observations import Observation
from vibcal_nb.analysis.site.site_overview import LOOKED_AT
from vibcal_nb.analysis.site.site_results import Instrument, SetPointReach, SiteResult
from vibcal_nb.inputs.load_asset import load_dated_asset
from vibcal_nb.inputs.load_visits import find_visits, load_visits
from vibcal_nb.model.channel_case import list_channel_cases, select_channel_case
from vibcal_nb.model.names import VOTING
from vibcal_nb.problems import on_one_line, shown
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.quantities.summary_check import is_entry, is_summary
from vibcal_nb.records.register.register import RegisterUnusable, read_columns, register_path
from vibcal_nb.records.register.tags import Tags, read_tags, tags_of


def read_site(folder: Path) -> list[SiteResult]:
    """Read the results of a records folder from its register, or analyse the readings of a site folder.

    A folder without a register that holds visits is a site folder. Drift, which follows from other results, and
    results without a summary (none that this version made) are passed over. Raises ``RegisterUnusable`` or
    ``InputRefused``.
    """
    if not register_path(folder).is_file() and any(folder.glob("**/visit.toml")):
        paths = find_visits(folder)
        assets = [load_dated_asset(home) for home in dict.fromkeys(path.absolute().parent for path in paths)]
        return _by_tags_of_today(list(_analysed(paths)), tags_of(assets))
    rows = [row for row in read_columns(register_path(folder), _COLUMNS) if row[1] in LOOKED_AT]
    found = [item for begin in range(0, len(rows), _AT_ONCE) for item in _from_rows(rows[begin : begin + _AT_ONCE])]
    return _by_tags_of_today(found, read_tags(folder))


def _by_tags_of_today(results: list[SiteResult], tags: Tags) -> list[SiteResult]:
    """The results under the tags of today, those of retired channels marked; of a result under two tags the later."""
    if tags == Tags():
        return results
    found: dict[tuple[str, ...], SiteResult] = {}
    for item in results:
        asset, channel = tags.today(item.asset, item.channel)
        key = asset, item.visit, channel, item.analysis, item.condition
        found[key] = item._replace(asset=asset, channel=channel, retired=tags.retired(asset, channel))
    return list(found.values())


def _analysed(paths: Iterable[Path]) -> Iterator[SiteResult]:
    for visit in load_visits(paths):
        for channel, condition in list_channel_cases(visit):
            whole = analyse_channel(select_channel_case(visit, channel=channel, condition=condition), explain=False)
            tests = [result for test, result in whole.tests.results() if test in ANALYSES]
            for entry in map(result_entry, (*tests, whole)):
                yield _result(entry, entry["summary"], record="")
        voting = analysis_named(VOTING)
        for group, condition in voting.cases(visit):
            entry = result_entry(voting.perform(visit, channel=group, condition=condition))
            yield _result(entry, entry["summary"], record="")


def _from_rows(rows: Sequence[tuple[Any, ...]]) -> Iterator[SiteResult]:
    """Read many summaries at one go: names that recur become one text, and each needs no reader of its own."""
    try:
        summaries = json.loads(f"[{','.join(row[-1] for row in rows)}]")
        read = list(zip(rows, summaries, strict=True))
    except (TypeError, ValueError, RecursionError):
        raise RegisterUnusable(f"The register holds summaries that are none; {_ANEW}.") from None
    for (*row, _), said in read:
        entry = dict(zip(_COLUMNS, row, strict=False))
        if not is_entry(entry) or not is_summary(said):
            named = shown(f"{entry['channel']} {entry['analysis']} {entry['condition']}")
            said = f"The register's row of {named} is not in the form of this version; {_ANEW}."
            raise RegisterUnusable(on_one_line(said))
        if said:
            yield _result(entry, said, record=str(entry["record"]))


_COLUMNS = ("channel", "analysis", "condition", "verdict", "record", "summary")
_AT_ONCE = 2000
_ANEW = "make it anew with the command overview --rebuild"
_INSTRUMENT = itemgetter("id", "kind", "serial", "calibrated", "due")
_SET_POINT = itemgetter(*SetPointReach._fields[:-1])  # and what else an object holds is passed over


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
        observations=tuple([_observation(item, entry, summary) for item in summary["sensitivities"]]),
        set_points=tuple([_set_point(item) for item in summary["set_points"]]),
        equipment=tuple([_instrument(*_INSTRUMENT(item)) for item in summary["equipment"]]),
        gates=tuple(summary.get("gates") or ()),
        missing=tuple(summary.get("missing") or ()),
        excluded=summary.get("excluded") or 0,
        not_read=summary.get("not_read") or 0,
    )


def _set_point(item: Mapping[str, Any]) -> SetPointReach:
    rotor, frequency_hz, set_point, level, max_applied, unit = _SET_POINT(item)
    return SetPointReach(rotor, frequency_hz, set_point, level, max_applied, unit, item.get("status"))


@cache
def _instrument(name: str, kind: str, serial: str, calibrated: str, due: str) -> Instrument:
    return Instrument(id=name, kind=kind, serial=serial, calibrated=_day(calibrated), due=_day(due))


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
        items=item.get("items"),
        nominal=item.get("nominal"),
    )


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Keep the garbage collector from looking through hundreds of thousands of objects, all of which stay."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
