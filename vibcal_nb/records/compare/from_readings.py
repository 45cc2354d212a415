"""What a record of a visit's readings would hold, made in memory where there is none yet."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import Refused
from vibcal_nb.records.analyses import ANALYSES, analysis_named, judges_readings
from vibcal_nb.records.compare.comparison import OpenedRecord
from vibcal_nb.records.files.places import path_name, record_stem
from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.seal.record_content import MIME_TYPE


def is_place_of_readings(place: Path) -> bool:
    """Whether a place is ``VISIT/CHANNEL/ANALYSIS.CONDITION`` in a visit's folder, as its record's is among records."""
    return (place.parent.parent / "visit.toml").is_file()


def from_readings(place: Path) -> OpenedRecord:
    """Perform the analysis that a place in a visit's folder names, and return it as a record of it would be opened.

    It carries no seal's sums, no cells and no sign-offs. Raises ``Refused`` where the visit holds no such readings.
    """
    visit = load_visit(place.parent.parent)
    channel, analysis, condition = _named(visit, place)
    result: Any = perform(visit, channel=channel, analysis=analysis, condition=condition)
    entry = json.loads(json.dumps(result_entry(result)))
    data = {MIME_TYPE: entry, INPUTS_TYPE: json.loads(json.dumps(state_test(result.case)))}
    identity = {
        "asset": visit.asset.tag,
        "visit": visit.path.name,
        "channel": channel,
        "analysis": analysis,
        "condition": condition,
    }
    seal = {"record": identity, "parameters": {}, "environment": {}, "parts": {}}
    return OpenedRecord(path=place, notebook={"cells": [{"outputs": [{"data": data}]}], "metadata": {}}, seal=seal)


def _named(visit: VisitFolder, place: Path) -> tuple[str, str, str]:
    """Return channel, analysis and condition of a place, out of those that the visit holds readings of."""
    held = {
        f"{path_name(channel)}/{record_stem(name, condition)}": (channel, name, condition)
        for name in ANALYSES
        if judges_readings(name)
        for channel, condition in analysis_named(name).cases(visit)
    }
    asked = f"{place.parent.name}/{place.name}"
    if asked not in held:
        of_channel = [name for name in held if name.startswith(f"{place.parent.name}/")]
        raise Refused(
            f"{visit.path.as_posix()}: it holds no readings for {asked}; there are {', '.join(of_channel or held)}."
        )
    return held[asked]
