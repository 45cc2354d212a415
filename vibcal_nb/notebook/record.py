"""What a record notebook calls: open the case its parameters name, and put the result into the record."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.writing.names import plural
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import Case, select_case
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.notebook.frame.opened import note_opened, opened_inputs
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.frame.sources import software_table, sources_table
from vibcal_nb.notebook.show import show
from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.report.report_content import list_report_items, missing_table, present_table
from vibcal_nb.records.seal.record_content import MIME_TYPE as RESULT_TYPE

R = TypeVar("R", bound=Result)


def open_case(namespace: Mapping[str, Any], *, test: str, **parameters: object) -> Case:
    """Load the readings that a notebook's parameters name, after checking the parameters themselves.

    ``namespace`` is the notebook's ``globals()``, see `check_parameters`. ``visit_folder``, ``channel`` and
    ``condition`` must be among the parameters. Raises ``ParameterError``, ``InputRefused``,
    ``NothingToAnalyse``, which the notebook then shows as sentences.
    """
    texts = checked_parameters(namespace, parameters)
    folder, names = load_visit(Path(texts["visit_folder"])), {name: texts[name] for name in ("channel", "condition")}
    case = select_case(folder, test=test, **names)
    note_opened(state_test(case), channel=case.channel.tag, condition=case.condition, folder=folder.path)
    return case


def checked_parameters(namespace: Mapping[str, Any], parameters: Mapping[str, object]) -> dict[str, str]:
    """Return ``visit_folder``, ``channel`` and ``condition`` of a notebook, having refused what is not usable.

    From here on the notebook shows refusals as sentences. Raises ``ParameterError``.
    """
    show_refusals_plainly()
    check_parameters(namespace, parameters)
    return {name: require_text(name, parameters.get(name)) for name in ("visit_folder", "channel", "condition")}


def keep_result(result: R) -> R:
    """Put the result, as JSON, into the record itself, so that it can be read back without this package; return it.

    What it was made from goes with it: the rows, limits and certificates that it used.
    """
    from IPython.display import display

    entry = result_entry(result)
    statement = opened_inputs(channel=entry["channel"], condition=entry["condition"])
    said = f"Kept in this record: the result ({entry['verdict']})"
    data = {RESULT_TYPE: entry, "text/plain": f"{said}."}
    if statement is not None:
        data |= {
            INPUTS_TYPE: statement,
            "text/plain": f"{said}, and the rows, limits and certificates it is made from.",
        }
    display(data, raw=True)
    return result


def show_provenance(case: Case) -> None:
    """Show what the record lacks and holds of a calibration report, what it was made from, and the software."""
    report = list_report_items(case)
    missing = missing_table(report)
    lacks = f"What of a calibration report is missing: {plural(len(missing.rows), 'item')}"
    show.folded_tables(lacks, missing)
    show.folded_tables("What of a calibration report it holds", present_table(report))
    show_sources(case)


def show_sources(case: Case | ChannelCase) -> None:
    """Show what the result of a case is made from, as its opener noted it, and below it the software."""
    statement = opened_inputs(channel=case.channel.tag, condition=case.condition)
    show.folded_tables("What it was made from", sources_table(statement or {"visits": []}))
    show.folded_tables("The software", software_table())
