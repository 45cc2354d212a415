"""What the review notebook calls: open the queue that its parameters name, or the readings of a visit in its place.

Where there are no records yet, a visit's folder is looked at: the same queue, made from its readings in memory, on
which nobody can decide.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.conformity.decision import PASSING
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.review.queue import ReviewItem, Standing, list_queue
from vibcal_nb.records.review.seen import read_seen

PARAMETERS = ("folder", "reviewer", "key", "site_folder")


@dataclass(frozen=True, kw_only=True)
class OpenedQueue:
    """The queue of a folder, whose it is, and the key and site by which decisions are made.

    ``results`` holds the results by place where readings are looked at and no records; then nothing is decided.
    """

    folder: Path
    items: tuple[ReviewItem, ...]
    reviewer: str
    key: str
    site: Path | None
    results: Mapping[str, Result]

    @property
    def is_of_records(self) -> bool:
        """Whether there are records to decide on."""
        return not self.results


def open_queue(namespace: Mapping[str, Any]) -> OpenedQueue:
    """Open the queue that a notebook's parameters name; ``namespace`` is the notebook's ``globals()``.

    Raises ``ParameterError``, ``InputRefused`` or ``Refused``, which the notebook shows as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, PARAMETERS)
    folder = Path(require_text("folder", namespace.get("folder")))
    if not folder.exists():
        raise ParameterError(f"The parameter folder is {str(folder)!r}; give a folder of records, or a visit's folder.")
    reviewer, key, site = (str(namespace.get(name) or "") for name in PARAMETERS[1:])
    if (folder / "visit.toml").is_file():
        items, results = _of_readings(folder)
        return OpenedQueue(folder=folder, items=items, reviewer=reviewer, key=key, site=None, results=results)
    return read_queue(folder, reviewer=reviewer, key=key, site=Path(site) if site else None)


def read_queue(folder: Path, *, reviewer: str, key: str, site: Path | None) -> OpenedQueue:
    """Read the queue of a folder of records. Raises ``Refused`` where there is no record."""
    items = list_queue([folder], {})
    seen = read_seen(items[0].root, reviewer) if reviewer else {}
    items = list_queue([folder], seen) if seen else items
    return OpenedQueue(folder=folder, items=tuple(items), reviewer=reviewer, key=key, site=site, results={})


def _of_readings(folder: Path) -> tuple[tuple[ReviewItem, ...], dict[str, Result]]:
    visit = load_visit(folder)
    results: dict[str, Result] = {}
    items = []
    for name in ANALYSES:
        analysis = analysis_named(name)
        for channel, condition in analysis.cases(visit) if analysis.judges_readings else ():
            result = perform(visit, channel=channel, analysis=name, condition=condition)
            place = f"{channel}/{name}.{condition}"
            results[place] = result
            items.append(_item(result, f"{channel}, {spoken(name)}, {spoken(condition)}", place, folder))
    ordered = sorted(items, key=lambda item: (item.standing, item.place))
    return tuple(ordered), results


def _item(result: Any, name: str, place: str, folder: Path) -> ReviewItem:
    verdict = str(result.verdict)
    standing = Standing.UNSIGNED if verdict in PASSING else Standing.DECISION
    return ReviewItem(
        path=folder, root=folder, place=place, name=name, seal="", revision=0, verdict=verdict, statement="",
        standing=standing, reasons=("readings, of which no record was made",),
    )  # fmt: skip
