"""results.json: one entry per channel, analysis and condition of a visit; what a run did not touch is kept."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.canonical import results_bytes
from vibcal_nb.records.files.places import RESULTS_FILE
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.running.fleet.make_record import Outcome

SCHEMA = 1


def write_results(folder: Path, *, asset: str, visit: str, outcomes: Iterable[Outcome], order: Sequence[str]) -> Path:
    """Write the results of a visit, merged with those of earlier runs whose records are still there.

    ``order`` are the asset's channels. Returns the file's path. Raises ``OSError``.
    """
    path = folder / RESULTS_FILE
    entries = {_key(entry): entry for entry in _earlier(path, folder)}
    for outcome in outcomes:
        if outcome.result is not None:
            entries[outcome.case.key] = {
                **outcome.result,
                "record": outcome.case.relative_record,
                "seal": outcome.seal,
            }
    place = {tag: number for number, tag in enumerate(order)}
    ranked = sorted(entries.values(), key=lambda entry: (place.get(entry["channel"], len(place)), _key(entry)))
    data = {"schema": SCHEMA, "asset": asset, "visit": visit, "results": ranked}
    write_atomically(path, results_bytes(data))
    return path


def _key(entry: dict[str, Any]) -> tuple[str, str, str]:
    return entry["channel"], entry["analysis"], entry["condition"]


def _earlier(path: Path, folder: Path) -> list[dict[str, Any]]:
    try:
        entries = json.loads(path.read_text(encoding="utf-8"))["results"]
        return [entry for entry in entries if _key(entry) and (folder / entry["record"]).is_file()]
    except (OSError, ValueError, KeyError, TypeError):
        return []  # it is made anew from the records of this run
