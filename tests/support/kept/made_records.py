"""A site and the records folder of its one result, as `run` would make it; and a record forged with care."""

from __future__ import annotations

import json

import nbformat

from tests.support.kept.performed import remembered
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.records.files.canonical import kept_bytes, results_bytes
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.report.visit_reports import list_due_sheets, make_sheets
from vibcal_nb.records.seal.keep import keep_record
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import make_seal
from vibcal_nb.running.fleet.stamp import hash_package, make_stamp
from vibcal_nb.running.fleet.standard_notebooks import find_notebooks

NAMES = {"channel": "STG-1-V11", "analysis": "linearity", "condition": "as-found"}
IDENTITY = {"asset": "STG-1", "visit": "2026-05-19", **NAMES}


def make_records(root, *, gain=4.05, **stamp):
    """Make a site and the records folder of its one result; return the record. ``stamp`` says what made it."""
    visit = build_site(root / "site", linearity_rows(gain=gain))
    case = select_case(load_visit(visit), channel="STG-1-V11", test="linearity", condition="as-found")
    parameters = {"visit_folder": visit.as_posix(), "channel": "STG-1-V11", "condition": "as-found"}
    notebook = remembered(analysis="linearity", parameters=parameters, inputs=state_test(case))
    template = find_notebooks() / analysis_named("linearity").notebook
    record = root / "records" / "STG-1" / "2026-05-19" / "STG-1-V11" / "linearity.as-found.ipynb"
    kept = keep_record(
        nbformat.from_dict(notebook),
        record=record,
        identity=IDENTITY,
        parameters=parameters,
        stamp={**make_stamp(template=template, package_sha256=hash_package()), **stamp},
        supersede_signed=True,
    )
    entries = [{**result_of(notebook), "record": f"STG-1-V11/{record.name}", "seal": kept.seal}]
    data = {"schema": 1, "asset": "STG-1", "visit": "2026-05-19", "results": entries}
    out = record.parents[1]
    (out / "results.json").write_bytes(results_bytes(data))
    assert make_sheets(list_due_sheets(out)) == []
    rebuild_register(root / "records")
    for aside in (root / "records").glob("register.aside-*"):
        aside.unlink()  # `run` appends to the register that there is
    return record


def reseal(record, change):
    """Change a record's content and seal it anew, as somebody who knows how could."""
    content = json.loads(record.read_bytes())
    change(content)
    seal = content["metadata"]["vibcal_nb"].pop("seal")
    said = {name: value for name, value in seal.items() if name not in ("digest", "parts", "content")}
    content["metadata"]["vibcal_nb"]["seal"] = make_seal(content, **said)
    record.write_bytes(kept_bytes(content))
