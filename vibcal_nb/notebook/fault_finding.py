"""What the fault-finding notebook calls: open a channel, show what explains it, find by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.faults.faults import FaultExplanations
from vibcal_nb.display.faults.fault_plots import explanation_picture, explanation_text
from vibcal_nb.display.faults.fault_sentences import top_sentence
from vibcal_nb.display.faults.fault_tables import ranking_table, suggestions_table
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.inputs.load_visits import find_visits, load_visit
from vibcal_nb.model.channel_case import list_channel_cases, select_channel_case, select_tests
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.notebook.panels.fault_panel import FaultPanel
from vibcal_nb.notebook.record import checked_parameters
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.touch.faults import Cases, next_steps


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
    show.widget(
        lambda: FaultPanel(list_channels(Path(visit_folder)), first=_name(found)).widget,
        otherwise="Choices appear here when the notebook is opened and run.",
    )


def _name(found: FaultExplanations) -> str:
    case = found.readings.cases[0]
    return name_of(case.asset_tag, case.visit_name, case.channel.tag, case.condition)


def name_of(asset: str, visit: str, channel: str, condition: str) -> str:
    """Name a channel in a condition on a visit, as the list has it."""
    return f"{asset} · {channel} · {visit} · {spoken(condition)}"


def list_channels(visit_folder: Path) -> dict[str, tuple[Path, Callable[[], Cases]]]:
    """Return, by name, every channel, visit and condition of the site, the newest visit of each channel first.

    Each comes with the folder of its visit and with what loads its cases.
    """
    found = []
    for path in find_visits(visit_folder.absolute().parent.parent):
        folder = load_visit(path)
        for tag, condition in list_channel_cases(folder):
            found.append((folder.asset.tag, tag, folder.visit.date, condition, path, folder))
    found.sort(key=lambda item: (item[0], item[1], -item[2].toordinal(), item[3]))
    return {
        name_of(asset, path.name, tag, condition): (path, partial(_load, folder, tag, condition))
        for asset, tag, _, condition, path, folder in found
    }


def _load(folder: VisitFolder, tag: str, condition: str) -> Cases:
    return tuple(select_tests(folder, channel=tag, condition=condition).values())
