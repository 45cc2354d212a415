"""A small sealed record, made without a kernel: a notebook with the outputs that the standard notebooks have."""

from __future__ import annotations

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.seal.keep import keep_record
from vibcal_nb.records.seal.record_content import MIME_TYPE

IDENTITY = {
    "asset": "STG-1",
    "visit": "2026-05-19",
    "channel": "STG-1-V11",
    "analysis": "linearity",
    "condition": "as-found",
}
STAMP = {
    "notebook": {"file": "linearity.ipynb", "sha256": "1" * 64, "own": True},
    "package_sha256": "2" * 64,
    "version": "0.1.0",
}
ROWS = [
    '["row","frequency_hz","applied","applied_unit","output","output_unit"]',
    '[2,50.0,20.12,"mm/s pk",81.5,"mV pk"]',
]
INPUTS = {
    "visits": [
        {
            "name": "2026-05-19",
            "asset": {"tag": "STG-1", "name": "turbine"},
            "channel": {"tag": "STG-1-V11", "tolerance_pct": 5.0},
            "visit": {"date": "2026-05-19", "performed_by": "Technician A"},
            "references": [{"id": "REF-1", "calibrated": "2026-01-10"}],
            "readouts": [],
            "table": "readings.csv",
            "rows": {"linearity as-found": ROWS},
        }
    ]
}
ENTRY = {
    "channel": "STG-1-V11",
    "analysis": "linearity",
    "condition": "as-found",
    "verdict": "pass",
    "statement": "STG-1-V11, linearity, as found: pass.",
    "quantities": [{"frequency_hz": 50.0, "sensitivity": 4.05, "points": [1.0, 2.5, None]}],
    "undetermined": {},
}


def shown(data):
    return new_output("display_data", data=data)


def executed(entry=ENTRY, *, table="<table><tr><td>20.12 mm/s pk − ✓</td></tr></table>", inputs=INPUTS):
    """Return an executed notebook, as a kernel would leave it."""
    cells = [
        new_markdown_cell("# Linearity\n\nIs it *proportional*?", id="title"),
        new_code_cell("show.points(result)", id="points", execution_count=1),
        new_code_cell("keep_result(result)", id="verdict", execution_count=2),
    ]
    cells[1].outputs = [shown({"text/html": table, "text/plain": "20.12"})]
    cells[2].outputs = [shown({MIME_TYPE: entry, INPUTS_TYPE: inputs, "text/plain": "Kept in this record: pass."})]
    notebook = new_notebook(cells=cells, metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}})
    nbformat.validate(notebook)
    return notebook


def keep(folder, notebook=None, *, stamp=STAMP, **options):
    """Keep a record in the folder and return its path."""
    record = folder / "STG-1-V11" / "linearity.as-found.ipynb"
    keep_record(
        executed() if notebook is None else notebook,
        record=record,
        identity=IDENTITY,
        parameters={"visit_folder": "site/STG-1/2026-05-19", "channel": "STG-1-V11", "condition": "as-found"},
        stamp=stamp,
        **options,
    )
    return record
