"""Seals: whatever single byte of a record is changed, it is told and placed; what was not touched is not accused."""

from __future__ import annotations

import json
import random

import nbformat
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.kept.sealed_record import ENTRY, INPUTS, STAMP, executed, keep
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.seal.failed import keep_failed
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.page import has_own_sum
from vibcal_nb.records.seal.seal import make_seal, seal_of


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    return keep(tmp_path_factory.mktemp("records"))


def edited(record, change):
    """Return the check of a record after a change of its content that keeps to the kept form."""
    content = json.loads(record.read_bytes())
    change(content)
    return check_seal(kept_bytes(content))


def test_an_untouched_record_is_intact(record):
    check = check_seal(record.read_bytes())
    assert check.intact, check.faults
    assert check.faults == ()


def test_the_kept_form_is_the_one_notebooks_are_saved_in(record, tmp_path):
    """What opens and saves a record without changing it leaves it intact."""
    nbformat.write(nbformat.read(record, as_version=4), tmp_path / "saved.ipynb")
    assert (tmp_path / "saved.ipynb").read_bytes() == record.read_bytes()


def test_500_single_bytes_changed_at_random_are_all_told(record):
    data, chance = record.read_bytes(), random.Random(20171125)
    for _ in range(500):
        place = chance.randrange(len(data))
        value = chance.choice([v for v in range(256) if v != data[place]])
        check = check_seal(data[:place] + bytes([value]) + data[place + 1 :])
        assert not check.intact, (place, value)
        assert check.faults, (place, value)


def test_every_single_character_of_sources_and_outputs_is_placed_in_its_cell(record):
    data = record.read_bytes()
    text = data.decode("utf-8")
    for cell, piece in (
        ("points", "show.points"),
        ("points", "20.12 mm/s pk"),
        ("verdict", "4.05"),
        ("title", "Is it"),
    ):
        start = len(text[: text.index(piece)].encode())
        for place in range(start, start + len(piece)):
            check = check_seal(data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :])
            assert any(f"cell '{cell}'" in fault for fault in check.faults), (piece, place - start, check.faults)


@settings(max_examples=150, deadline=None)
@given(place=st.integers(0, 10**6), cut=st.integers(1, 9), put=st.binary(max_size=9))
def test_any_replaced_stretch_is_told(record, place, cut, put):
    data = record.read_bytes()
    place %= len(data)
    changed = data[:place] + put + data[place + cut :]
    assert check_seal(changed).intact == (changed == data)


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (lambda c: c["cells"].pop(0), "cell 'title', source: missing"),
        (lambda c: c["cells"].reverse(), "the order of the cells: changed"),
        (lambda c: c["cells"][1]["outputs"].clear(), "cell 'points', output 1, text/html: missing"),
        (lambda c: c["cells"][1].update(execution_count=9), "cell 'points', kind and metadata: changed"),
        (lambda c: c["cells"].append(dict(c["cells"][0])), "cell 'title, number 4', source: added"),
        (lambda c: c["metadata"]["kernelspec"].update(name="x"), "metadata kernelspec: changed"),
        (lambda c: c["metadata"]["vibcal_nb"].update(inputs_sha256=""), "metadata vibcal_nb, inputs_sha256: changed"),
        (lambda c: c["metadata"]["vibcal_nb"]["seal"].update(made="2020"), "the seal itself was changed"),
        (lambda c: c.update(nbformat_minor=4), "the notebook's own format: changed"),
        (lambda c: c["metadata"].pop("vibcal_nb"), "the file carries no seal"),
        (lambda c: c["metadata"]["vibcal_nb"]["seal"].update(schema=99), "its seal has the schema 99"),
    ],
)
def test_what_was_changed_is_named(record, change, fault):
    assert any(found.startswith(fault) for found in edited(record, change).faults)


def test_a_name_that_hides_behind_another_part_is_told(record):
    """An output's kind may be called anything, the name of another part included."""
    check = edited(record, lambda c: c["cells"][1]["outputs"][0]["data"].update({"its frame": "hidden"}))
    assert not check.intact


def test_a_changed_sum_in_the_seal_does_not_accuse_the_cell(record):
    def change(content):
        content["metadata"]["vibcal_nb"]["seal"]["parts"]["cell 'points', source"] = "0" * 64

    (fault,) = edited(record, change).faults
    assert "all else is as sealed" in fault


def test_other_bytes_of_the_same_content_are_told(record):
    data = record.read_bytes()
    for other in (data.replace(b"\n", b"\r\n"), data + b"\n", json.dumps(json.loads(data)).encode()):
        (fault,) = check_seal(other).faults
        assert "its content is as sealed, but the file was written anew" in fault


@pytest.mark.parametrize(
    "data", [b"", b"\xff", b"[" * 100_000, b"{}", b"[1]", b"null", b'{"cells": 3, "metadata": []}']
)
def test_what_is_no_record_is_said_to_be_none(data):
    check = check_seal(data)
    assert not check.intact
    assert len(check.faults) == 1


@settings(max_examples=100, deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text() | st.integers(),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(
                st.sampled_from(["cells", "metadata", "vibcal_nb", "seal", "outputs", "data", "id"]), inner
            )
        ),
        max_leaves=12,
    )
)
def test_no_content_is_too_odd_to_be_checked(content):
    try:
        data = kept_bytes(content)
    except UnicodeEncodeError:
        return
    assert not check_seal(data).intact


def test_the_page_carries_the_seal_and_its_own_sum(record):
    page = page_path(record).read_bytes()
    digest = seal_of(json.loads(record.read_bytes()))["digest"]
    assert f'<meta name="record-seal" content="{digest}">'.encode() in page
    assert has_own_sum(page)
    chance = random.Random(5)
    for _ in range(300):
        place = chance.randrange(len(page))
        assert not has_own_sum(page[:place] + bytes([page[place] ^ 1]) + page[place + 1 :]), place


def test_the_page_is_inert_and_needs_nothing(tmp_path):
    entry = {**ENTRY, "statement": "<script>alert(1)</script>", "channel": '"><script>'}
    notebook = executed(entry)
    notebook.cells[0].source = "<script>alert(2)</script> [x](javascript:alert(3)) <img src=http://a.example>"
    page = page_path(keep(tmp_path, notebook)).read_text(encoding="utf-8")
    assert "<script" not in page
    assert "<img src=http" not in page
    assert 'href="javascript' not in page
    assert "default-src 'none'" in page


def test_a_rerun_that_says_the_same_leaves_the_record_alone(tmp_path):
    record = keep(tmp_path)
    before = record.read_bytes()
    again = executed()
    again.cells[1].metadata["execution"] = {"iopub.status.busy": "later"}
    again.metadata["papermill"] = {"start_time": "later"}
    keep(tmp_path, again)
    assert record.read_bytes() == before
    assert not (record.parent / "superseded").exists()


def test_a_rerun_with_changed_inputs_is_a_revision_that_names_the_old_one(tmp_path):
    record = keep(tmp_path)
    old = record.read_bytes()
    other = json.loads(
        json.dumps(INPUTS).replace("81.5", "81.6").replace('"tolerance_pct": 5.0', '"tolerance_pct": 4.0')
    )
    keep(tmp_path, executed({**ENTRY, "verdict": "fail"}, inputs=other), stamp={**STAMP, "version": "0.2.0"})
    seal = seal_of(json.loads(record.read_bytes()))
    assert (record.parent / seal["replaces"]["record"]).read_bytes() == old
    assert seal["revision"] == 2
    assert seal["replaces"]["seal"] == seal_of(json.loads(old))["digest"]
    assert seal["replaces"]["changed"] == [
        "limits of the channel, tolerance_pct: from 5.0 to 4.0",
        "row 2 of linearity as-found, output: from 81.5 to 81.6",
        "software version: from 0.1.0 to 0.2.0",
        "verdict: from pass to fail",
    ]
    page = page_path(record).read_text(encoding="utf-8")
    assert "revision 2" in page
    assert "superseded/linearity.as-found.rev1.ipynb" in page
    keep(tmp_path)
    assert seal_of(json.loads(record.read_bytes()))["revision"] == 3


def test_a_tampered_record_is_set_aside_as_such(tmp_path):
    record = keep(tmp_path)
    record.write_bytes(record.read_bytes().replace(b"20.12 mm", b"20.13 mm"))
    keep(tmp_path)
    check = check_seal(record.read_bytes())
    assert check.intact
    assert "the earlier record was not intact (cell 'points', output 1, text/html: changed)" in str(check.seal)


def test_a_failed_notebook_is_marked_and_is_no_record(tmp_path):
    executed_path, failed = tmp_path / "partial.ipynb", tmp_path / "linearity.as-found.failed.ipynb"
    nbformat.write(executed(), executed_path)
    keep_failed(executed_path, failed, sentence="V11: the <b>table</b> holds nothing.")
    notebook = nbformat.read(failed, as_version=4)
    nbformat.validate(notebook)
    assert notebook.cells[0].source.startswith("# This is not a record\n")
    assert "\\<b\\>table" in notebook.cells[0].source
    check = check_seal(failed.read_bytes())
    assert check.failed == "V11: the <b>table</b> holds nothing."
    assert not check.intact


def test_the_digest_is_the_sum_of_the_published_form():
    """The digest can be had without this package: SHA-256 (FIPS 180-4) of the seal's compact, sorted JSON in UTF-8."""
    import hashlib

    seal = make_seal({"cells": [], "metadata": {}}, made="now")
    text = json.dumps({k: v for k, v in seal.items() if k != "digest"}, sort_keys=True, separators=(",", ":"))
    assert seal["digest"] == hashlib.sha256(text.encode()).hexdigest()
