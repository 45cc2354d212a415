"""What tests of channel report are made of."""

from __future__ import annotations

import json

from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from tests.support.kept.sealed_record import shown
from vibcal_nb.model.names import CHANNEL_VERDICT
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.seal.keep import keep_record
from vibcal_nb.records.seal.record_content import MIME_TYPE


def keep_results(folder, out, *, channel, without=(CHANNEL_VERDICT,)):
    """Keep a record of the results of a channel and results.json, without a kernel; return the entries."""
    entries, present = [], PresentInputs([folder])
    cases = [(*case, name) for name in ANALYSES for case in analysis_named(name).cases(folder) if name not in without]
    for tag, condition, test in cases:
        if tag != channel:
            continue
        names = {"channel": tag, "analysis": test, "condition": condition}
        entry = result_entry(perform(folder, **names))
        inputs = present.statement(folder.path, **names)
        cell = new_code_cell("keep_result(result)", id="verdict")
        cell.outputs = [shown({MIME_TYPE: entry, INPUTS_TYPE: inputs, "text/plain": "kept"})]
        record = out / channel / f"{test}.{condition}.ipynb"
        identity = {"asset": folder.asset.tag, "visit": folder.path.name, "channel": tag}
        kept = keep_record(
            new_notebook(cells=[new_markdown_cell("# Title", id="title"), cell]),
            record=record,
            identity={**identity, "analysis": test, "condition": condition},
            parameters={"visit_folder": folder.path.as_posix(), "channel": tag, "condition": condition},
            stamp={"version": "0.1.0"},
        )
        entries.append({**entry, "record": f"{channel}/{record.name}", "seal": kept.seal})
    (out / "results.json").write_text(json.dumps({"results": entries}), encoding="utf-8")
    return entries
