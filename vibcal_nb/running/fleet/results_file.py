"""results.json: one entry per channel, analysis and condition of a visit; what a run did not touch is kept."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.canonical import results_bytes
from vibcal_nb.records.files.places import RESULTS_FILE
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import seal_of
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
    """Return the entries that the file has of records that are there, and those of records that it does not name.

    A file that two people's versions meet in may be unreadable, or lack what the other one made.
    """
    try:
        entries = json.loads(path.read_text(encoding="utf-8"))["results"]
        kept = [entry for entry in entries if _key(entry) and (folder / entry["record"]).is_file()]
    except (OSError, ValueError, KeyError, TypeError):
        kept = []
    named = {entry["record"] for entry in kept}
    places = (record.relative_to(folder).as_posix() for record in sorted(folder.glob("*/*.ipynb")))
    return [*kept, *(entry for place in places if place not in named for entry in _entry_of(folder, place))]


def _entry_of(folder: Path, place: str) -> Iterator[dict[str, Any]]:
    """Yield the entry that a record carries; nothing where it is no record of a result."""
    if Path(place).name.startswith(".") or place.endswith(".failed.ipynb"):
        return
    try:
        notebook = json.loads(read_plain(folder / place))
        entry, seal = result_of(notebook), seal_of(notebook)
        if entry and seal is not None and all(_key(entry)):
            yield {**entry, "record": place, "seal": seal["digest"]}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return
