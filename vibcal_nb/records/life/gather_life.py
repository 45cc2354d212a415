"""A channel's life gathered: visits read and judged, with the sign-offs and returns that lie beside their records.

Every visit is judged anew from its readings, by what held on its day. What a record says was decided is taken from the
records folder, where it is of the same verdict.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.analysis.life.channel_life import ChannelLife, LifeVisit, SetPointOfVisit, UsedItem, VisitedTest
from vibcal_nb.inputs.earlier_visits import load_history
from vibcal_nb.model.items import names_of
from vibcal_nb.model.names import AS_LEFT, SET_POINTS
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.files.places import path_name, record_stem
from vibcal_nb.records.files.plain_files import is_plain
from vibcal_nb.records.perform.history import analyse_history, read_history
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.review.queue import list_queue


def gather_life(visit_folder: Path, *, channel: str, records: Path | None = None) -> ChannelLife:
    """Gather a channel's life up to a visit. ``records`` is the folder of records, None where none is at hand.

    Raises ``InputRefused``, ``NothingToAnalyse``.
    """
    visits = load_history(visit_folder, channel=channel)
    drift: DriftResult | None = None
    why = ""
    try:
        drift = analyse_history(read_history(visit_folder, channel=channel))
    except NothingToAnalyse as error:
        why = str(error)
    found = [life for visit in visits if (life := _visit(visit, channel, records)) is not None]
    if not found:
        raise NothingToAnalyse(f"No visit holds readings of {channel}.")
    last = visits[-1].asset
    held = last.channels.get(channel) or last.groups[channel]
    return ChannelLife(
        asset=last.tag,
        channel=channel,
        unit=held.input_unit.text,
        visits=tuple(found),
        drift=drift,
        why_no_drift=why,
    )


def _visit(visit: VisitFolder, channel: str, records: Path | None) -> LifeVisit | None:
    tests, set_points = [], []
    for name in ANALYSES:
        analysis = analysis_named(name)
        for tag, condition in analysis.cases(visit) if analysis.judges_readings else ():
            if tag != channel:
                continue
            result: Any = perform(visit, channel=tag, analysis=name, condition=condition)
            decided = tuple(_decided(records, visit, channel, name, condition, str(result.verdict)))
            tests.append(
                VisitedTest(test=name, condition=condition, verdict=result.verdict, statement="", decided=decided)
            )
            set_points += _set_points(result) if name == SET_POINTS else []
    if not tests:
        return None
    left = any(item.condition == AS_LEFT for item in tests)
    held = visit.asset.as_left.get(channel) if left else None
    held = held or visit.asset.channels.get(channel)
    return LifeVisit(
        day=visit.visit.date,
        name=visit.path.name,
        performed_by=visit.visit.performed_by,
        tests=tuple(tests),
        items={} if held is None else names_of(held.items),
        equipment=(
            *(UsedItem(id=item.id, serial=item.serial, due=item.due) for item in visit.references),
            *(UsedItem(id=item.id, serial=item.serial, due=item.due) for item in visit.readouts),
        ),
        set_points=tuple(set_points),
        notes=visit.visit.notes or "",
    )


def _set_points(result: Any) -> list[SetPointOfVisit]:
    return [
        SetPointOfVisit(
            name=item.set_point.name,
            level=item.set_point.level,
            estimate=item.estimate,
            expanded=None if item.expanded is None else item.expanded.U,
            verdict=item.verdict,
        )
        for item in result.found
    ]


def _decided(
    records: Path | None, visit: VisitFolder, channel: str, name: str, condition: str, verdict: str
) -> Iterator[str]:
    if records is None:
        return
    folder = records / path_name(visit.asset.tag) / path_name(visit.path.name) / path_name(channel)
    record = folder / f"{record_stem(name, condition)}.ipynb"
    if not is_plain(record):
        return
    for item in list_queue([record], {}):
        if item.verdict == verdict:
            yield from (f"signed off by {signoff.name}, {signoff.day}" for signoff in item.signoffs)
            if item.returned is not None:
                yield f"returned by {item.returned.who}"
