"""What a record notebook calls: open the case its parameters name, and put the result into the record."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import Case, select_case
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.frame.sources import input_files, sources_table
from vibcal_nb.notebook.show import show
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.report.report_content import list_report_items, missing_table, present_table
from vibcal_nb.records.seal.record_content import MIME_TYPE


def open_case(namespace: Mapping[str, Any], *, test: str, **parameters: object) -> Case:
    """Load the readings that a notebook's parameters name, after checking the parameters themselves.

    ``namespace`` is the notebook's ``globals()``, see `check_parameters`. ``visit_folder``, ``channel`` and
    ``condition`` must be among the parameters. Raises ``ParameterError``, ``InputRefused``,
    ``NothingToAnalyse``, which the notebook then shows as sentences.
    """
    texts = checked_parameters(namespace, parameters)
    return select_case(
        load_visit(Path(texts["visit_folder"])), channel=texts["channel"], test=test, condition=texts["condition"]
    )


def checked_parameters(namespace: Mapping[str, Any], parameters: Mapping[str, object]) -> dict[str, str]:
    """Return ``visit_folder``, ``channel`` and ``condition`` of a notebook, having refused what is not usable.

    From here on the notebook shows refusals as sentences. Raises ``ParameterError``.
    """
    show_refusals_plainly()
    check_parameters(namespace, parameters)
    return {name: require_text(name, parameters.get(name)) for name in ("visit_folder", "channel", "condition")}


def keep_result(result: Result) -> None:
    """Put the result, as JSON, into the record itself, so that it can be read back without this package."""
    from IPython.display import display

    entry = result_entry(result)
    text = f"Result kept in this record: {entry['verdict']} ({len(str(entry['quantities']))} characters of quantities)."
    display({MIME_TYPE: entry, "text/plain": text.split(" (")[0] + "."}, raw=True)


def show_provenance(case: Case, *, visit_folder: str) -> None:
    """Show what the record lacks and holds of a calibration report, and what it was made from."""
    report = list_report_items(case)
    sources = sources_table(input_files(Path(visit_folder), case.table_file))
    show.table(missing_table(report), present_table(report), sources)
