"""What the fault-finding notebook calls: open a channel, show what explains it, keep a person's finding."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.faults.faults import FaultExplanations
from vibcal_nb.display.faults.fault_plots import explanation_picture, explanation_text
from vibcal_nb.display.faults.fault_sentences import top_sentence
from vibcal_nb.display.faults.fault_sizes import sizes
from vibcal_nb.display.faults.fault_tables import ranking_table, suggestions_table
from vibcal_nb.inputs.load_visits import find_visits, load_visit
from vibcal_nb.model.case import EXPLORATION
from vibcal_nb.model.channel_case import list_channel_cases, select_channel_case, select_tests
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.notebook.frame.interactive import is_interactive
from vibcal_nb.notebook.panels.fault_panel import Cases, FaultPanel, next_steps
from vibcal_nb.notebook.record import checked_parameters
from vibcal_nb.notebook.show import show
from vibcal_nb.records.files.whole_files import write_atomically

NOT_A_VERDICT = "This is a finding and not a verdict: what a person took the readings to mean, to be confirmed."


def open_readings(namespace: Mapping[str, Any], **parameters: object) -> Cases:
    """Load all tests of the channel that a notebook's parameters name, after checking the parameters.

    Raises ``ParameterError``, ``InputRefused``, ``NothingToAnalyse``, which the notebook then shows as sentences.
    """
    texts = checked_parameters(namespace, parameters)
    folder = load_visit(Path(texts["visit_folder"]))
    return tuple(select_channel_case(folder, channel=texts["channel"], condition=texts["condition"]).tests.values())


def show_explanations(found: FaultExplanations) -> None:
    """Show the ranked explanations, the likeliest one over the readings, and what to measure next."""
    steps = next_steps(found)
    show.table(ranking_table(found), *([suggestions_table(found, steps)] if steps else []))
    text = f"{top_sentence(found)} {explanation_text(found, found.top)}"
    show.picture(explanation_picture(found, found.top, text=text))


def find_by_hand(found: FaultExplanations, *, visit_folder: str) -> None:
    """Show the panel to pick, try and note; in batch, one line in its place."""
    from IPython.display import display

    if not is_interactive():
        show.sentence("Choices appear here when the notebook is opened and run.")
        return
    channels = list_channels(Path(visit_folder))
    first = next(name for name in channels if name.endswith(_name(found)))
    display(FaultPanel(channels, first=first, keep=partial(keep_finding, Path("../records/findings"))).widget)


def _name(found: FaultExplanations) -> str:
    case = found.readings.cases[0]
    return f"{case.visit_name} {case.channel.tag} {case.condition}"


def list_channels(visit_folder: Path) -> dict[str, Callable[[], Cases]]:
    """Return, by name, every channel, visit and condition of the site, each with what loads it."""
    channels: dict[str, Callable[[], Cases]] = {}
    for path in find_visits(visit_folder.absolute().parent.parent):
        folder = load_visit(path)
        for tag, condition in list_channel_cases(folder):
            channels[f"{path.name} {tag} {condition}"] = partial(_load, folder, tag, condition)
    return channels


def _load(folder: VisitFolder, tag: str, condition: str) -> Cases:
    return tuple(select_tests(folder, channel=tag, condition=condition).values())


def keep_finding(home: Path, found: FaultExplanations, text: str, reason: str = "") -> str:
    """Keep a finding as a file of its own, never over an earlier one; return the sentence that says where.

    ``reason`` is why readings were left out by hand; without one nothing is kept where any were.
    """
    if not text.strip():
        return "Nothing was kept: write down what you found first."
    if not reason.strip() and any(reading.exclude == EXPLORATION for reading in found.readings.excluded):
        return "Nothing was kept: write down why readings are left out first."
    case, top = found.readings.cases[0], found.top
    content = {
        "kind": NOT_A_VERDICT,
        "asset": case.asset_tag,
        "visit": case.visit_name,
        "channel": case.channel.tag,
        "condition": case.condition,
        "finding": _encodable(text.strip()),
        "written": datetime.now().astimezone().isoformat(timespec="seconds"),
        "likeliest": {"explanation": top.name, "weight": round(top.weight, 4), "size": sizes(found, top)},
        "left_out": [_left_out(reading, _encodable(reason.strip())) for reading in found.readings.excluded],
    }
    folder = home / case.asset_tag / case.visit_name
    number = 1
    while (path := folder / f"{case.channel.tag}.{case.condition}.finding-{number}.json").exists():
        number += 1
    folder.mkdir(parents=True, exist_ok=True)
    write_atomically(path, json.dumps(content, indent=1, ensure_ascii=False) + "\n")
    return f"Kept as {path.as_posix()}. {NOT_A_VERDICT}"


def _encodable(text: str) -> str:
    """A browser may send half a character, which no file can hold; a mark that it was there takes its place."""
    return text.encode("utf-8", "surrogatepass").decode("utf-8", "replace")


def _left_out(reading: Reading, reason: str) -> dict[str, Any]:
    """A reading that took no part, with the reason typed in the table or given by hand."""
    return {
        "row": reading.row,
        "test": reading.test,
        "reason": reason if reading.exclude == EXPLORATION else reading.exclude,
    }
