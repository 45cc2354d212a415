"""Records of every schema stay readable: one golden folder each, as `run` and `verify --sign` made it at the time."""

from __future__ import annotations

import json

import nbformat
import pytest

from tests.support.places import GOLDEN
from vibcal_nb.records.register.register_records import read_row
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.page import record_page
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import SCHEMA
from vibcal_nb.records.signoff.allowed_signers import read_allowed_signers
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_files import verify_path
from vibcal_nb.running.verify.verify_record import verify_record

FOLDERS = sorted(GOLDEN.glob("schema_*"))
RECORDS = [record for folder in FOLDERS for record in folder.glob("*/*/*/*.ipynb")]


def test_each_schema_has_its_golden_record():
    assert [folder.name for folder in FOLDERS] == [f"schema_{number}" for number in range(1, SCHEMA + 1)]
    assert len(RECORDS) == len(FOLDERS)


@pytest.mark.parametrize("record", RECORDS, ids=lambda path: path.parts[-5])
def test_it_is_read_shown_and_registered(record):
    nbformat.validate(nbformat.read(record, as_version=4))
    check = check_seal(record.read_bytes())
    assert check.intact, check.faults
    entry = result_of(check.notebook)
    kept = json.loads((record.parents[1] / "results.json").read_text(encoding="utf-8"))["results"]
    assert {**entry, "record": f"{record.parent.name}/{record.name}", "seal": check.seal["digest"]} in kept
    assert entry["statement"].encode() in record_page(check.notebook)
    row = read_row(record.parents[3], record)
    assert (row.channel, row.verdict, row.seal) == (entry["channel"], entry["verdict"], check.seal["digest"])


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: path.name)
def test_it_verifies_with_its_page_sheet_and_signature(folder, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)  # away from the demo site: what is asked is whether it is read
    verifier = Verifier(allowed=read_allowed_signers(folder / "allowed_signers"))
    found = list(verify_path(folder, verifier))
    assert [fault for verified in found for fault in verified.faults] == []
    (record,) = folder.glob("*/*/*/*.ipynb")
    verified = verify_record(record, verifier)
    assert "signature valid, key of engineer.d@example.org" in " ".join(verified.said)
    assert verified.told(State.NOT_PERFORMED) != ()
    assert not verified.may_be_signed
