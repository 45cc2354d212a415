"""A site and the records folder of its one result, made without a kernel; and a record forged with care."""

from __future__ import annotations

import json

from tests.support.plants import build_site, linearity_rows
from tests.support.sealed_record import executed
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.files.canonical import kept_bytes, results_bytes
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.register.register_records import rebuild_register
from vibcal_nb.records.report.visit_reports import list_due_sheets, make_sheets
from vibcal_nb.records.seal.keep import keep_record
from vibcal_nb.records.seal.seal import make_seal
from vibcal_nb.running.fleet.fingerprint import hash_files, hash_package, list_input_files

NAMES = {"channel": "STG-1-V11", "analysis": "linearity", "condition": "as-found"}
PACKAGE = hash_package()


def make_records(root, *, gain=4.05, package=PACKAGE, version="0.1.0"):
    """Make a site and the records folder of its one result, without a kernel; return the record."""
    visit = build_site(root / "site", linearity_rows(gain=gain))
    folder, out = load_visit(visit), root / "records" / "STG-1" / "2026-05-19"
    entry = result_entry(perform(folder, **NAMES))
    record = out / "STG-1-V11" / "linearity.as-found.ipynb"
    kept = keep_record(
        executed(entry),
        record=record,
        identity={"asset": "STG-1", "visit": "2026-05-19", **NAMES},
        parameters={"visit_folder": visit.as_posix(), "channel": "STG-1-V11", "condition": "as-found"},
        stamp={
            "inputs_sha256": hash_files(list_input_files(visit)),
            "template_sha256": "1" * 64,
            "package_sha256": package,
            "version": version,
        },
    )
    entries = [{**entry, "record": f"STG-1-V11/{record.name}", "seal": kept.seal}]
    data = {"schema": 1, "asset": "STG-1", "visit": "2026-05-19", "results": entries}
    (out / "results.json").write_bytes(results_bytes(data))
    assert make_sheets(list_due_sheets(folder, out)) == []
    rebuild_register(root / "records")
    return record


def reseal(record, change):
    """Change a record's content and seal it anew, as somebody who knows how could."""
    content = json.loads(record.read_bytes())
    change(content)
    seal = content["metadata"]["vibcal_nb"].pop("seal")
    said = {name: value for name, value in seal.items() if name not in ("digest", "parts", "content")}
    content["metadata"]["vibcal_nb"]["seal"] = make_seal(content, **said)
    record.write_bytes(kept_bytes(content))
