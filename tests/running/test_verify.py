"""`verify`: what was changed is named, whatever file it is in; what was not touched is not accused; sign-offs hold."""

from __future__ import annotations

import json
import random
import re
import shutil

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.kept.made_records import make_records, reseal
from tests.support.kept.performed import remember_performances
from vibcal_nb.problems import Refused
from vibcal_nb.records.files.canonical import kept_bytes, results_bytes
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.inputs_used.record_inputs import sum_of_inputs
from vibcal_nb.records.perform.differences import list_differences
from vibcal_nb.records.seal.failed import keep_failed
from vibcal_nb.records.seal.record_content import MIME_TYPE as RESULT_TYPE
from vibcal_nb.records.seal.record_content import inputs_of, result_of
from vibcal_nb.records.seal.seal import make_seal, sum_parts
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.verify.find_inputs import find_inputs
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_files import verify_path
from vibcal_nb.running.verify.verify_record import verify_record


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    yield
    end()


@pytest.fixture
def record(tmp_path):
    return make_records(tmp_path)


def told(path, *states):
    """What is not in order, in words: of some states, or of all."""
    return [text for verified in verify_path(path, Verifier()) for text in verified.told(*states)]


def faults_of(path):
    return told(path, State.ALTERED)


def test_untouched_records_are_in_order(record, capsys):
    root = record.parents[3]
    assert told(root) == []
    verified = verify_record(record, Verifier())
    assert verified.may_be_signed
    assert verified.said[:2] == ("intact", "page intact")
    assert re.match(r"performed again: \d+ cells with every output, ", verified.said[2])
    assert verified.said[3] == "its inputs hold what it states"
    assert main(["verify", str(root)]) == 0
    assert capsys.readouterr().out.endswith("4 in order.\n")


def test_300_single_bytes_changed_at_random_in_any_file_of_a_record_are_all_told(record):
    """Record, page, report and results file."""
    out = record.parents[1]
    own = [record, page_path(record), record.with_name("STG-1-V11.pdf"), out / "results.json"]
    chance = random.Random(17025)
    for number in range(300):
        file = chance.choice(own)
        data = file.read_bytes()
        place = chance.randrange(len(data))
        value = chance.choice([v for v in range(256) if v != data[place]])
        file.write_bytes(data[:place] + bytes([value]) + data[place + 1 :])
        found = [
            (v.path.name, fault)
            for path in (record, *own[2:])
            for v in verify_path(path, Verifier())
            for fault in v.told(State.ALTERED, State.INCOMPLETE)
        ]
        assert any(file.name in name or file.name in fault for name, fault in found), (number, file.name, found)
        file.write_bytes(data)
    assert told(out) == []


def test_any_change_of_what_a_record_used_is_named_and_no_other(record):
    """100 single characters of the input files: where the record's statement changes, it is told, and only there."""
    site = record.parents[4] / "site"
    visit = site / "STG-1" / "2026-05-19"
    files = [site / "equipment.toml", site / "STG-1" / "asset.toml", visit / "visit.toml", visit / "readings.csv"]
    names = {"channel": "STG-1-V11", "analysis": "linearity", "condition": "as-found"}
    stated, chance, outcomes = inputs_of(json.loads(record.read_bytes())), random.Random(17026), []
    for _ in range(100):
        file = chance.choice(files)
        data = file.read_bytes()
        place = chance.randrange(len(data))
        file.write_bytes(data[:place] + chance.choice(b"0123456789.ax# ").to_bytes(1, "big") + data[place + 1 :])
        verified = verify_record(record, Verifier())
        moved = verified.told(State.MOVED_ON)
        assert verified.faults == ()
        try:
            same = sum_of_inputs(PresentInputs().statement(visit, **names)) == sum_of_inputs(stated)
        except Refused:
            same = False
        assert (moved == ()) == same, (file.name, place)
        outcomes.append(same)
        file.write_bytes(data)
    assert 0 < sum(outcomes) < 100


def test_a_forger_who_seals_anew_is_found_by_performing_again_and_by_every_witness(record):
    def forge(content):
        result_of(content)["quantities"][0]["sensitivity"] = 4.2

    reseal(record, forge)
    faults = verify_record(record, Verifier()).faults
    assert any("quantities[1].sensitivity: 4.2 in the record, 4.05" in fault for fault in faults)
    assert any(fault.startswith("its page linearity.as-found.html is of another record") for fault in faults)
    assert "results.json names another seal for it" in faults
    found = "\n".join(faults_of(record.parents[3]))
    assert "the record has another seal" in found
    assert "not the record that was registered" in found
    assert "of which it was made" in "\n".join(faults_of(record.with_name("STG-1-V11.pdf")))


def test_a_changed_reading_is_named_from_what_to_what_and_is_no_forgery(record):
    readings = record.parents[4] / "site" / "STG-1" / "2026-05-19" / "readings.csv"
    readings.write_text(readings.read_text(encoding="utf-8").replace(",40.62", ",41.62"), encoding="utf-8")
    verified = verify_record(record, Verifier())
    assert verified.state is State.MOVED_ON
    (said,) = verified.told(State.MOVED_ON)
    assert re.match(r"row 4 of linearity as-found, output: from 40.62\d to 41.62\d \(", said)
    assert any(re.match(r"performed again: \d+ cells", text) for text in verified.said)


def test_what_a_record_does_not_use_changes_nothing(record):
    """Another channel's row above and below, a comment, a new certificate, another condition, a later visit."""
    site = record.parents[4] / "site"
    asset = site / "STG-1" / "asset.toml"
    text = asset.read_text(encoding="utf-8")
    own = text[text.index("[channels.STG-1-V11]") :]
    asset.write_text(f"# a comment\n{text}\n{own.replace('STG-1-V11', 'STG-1-V12')}", encoding="utf-8")
    readings = site / "STG-1" / "2026-05-19" / "readings.csv"
    head, *rows = readings.read_text(encoding="utf-8").splitlines()
    other = [row.replace("STG-1-V11", "STG-1-V12") for row in rows]
    as_left = [row.replace("as-found", "as-left") for row in rows]
    readings.write_text("\n".join([head, *other, *rows, *as_left]) + "\n", encoding="utf-8")
    equipment = site / "equipment.toml"
    text = equipment.read_text(encoding="utf-8")
    equipment.write_text(text + text.replace('"REF-1"', '"REF-2"').replace('"DVM-1"', '"DVM-2"'), encoding="utf-8")
    visit = site / "STG-1" / "2026-05-19" / "visit.toml"
    later = site / "STG-1" / "2027-05-19"
    shutil.copytree(visit.parent, later)
    (later / "visit.toml").write_text(visit.read_text(encoding="utf-8").replace("2026", "2027"), encoding="utf-8")
    visit.write_text("# read twice\n" + visit.read_text(encoding="utf-8"), encoding="utf-8")
    assert told(record) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"schema": 4}, "its schema is '4', not 1"),
        ({"schema": None}, "its schema is nothing, not 1"),
        ({"schema": True}, "its schema is 'True', not 1"),
        ({"asset": "STG-2"}, "it is of the asset 'STG-2', and lies in the folder 'STG-1'"),
        ({"visit": "2026-05-18"}, "it is of the visit '2026-05-18', and lies in the folder '2026-05-19'"),
        ({"visit": ["2026-05-19"]}, "and lies in the folder '2026-05-19'"),
        ({"approved": True}, "it holds 'approved', which no results file has"),
    ],
)
def test_a_results_file_with_another_head_is_told(record, change, said):
    """No record names what stands there, and a file in its canonical form shows no change of its own."""
    results = record.parents[1] / "results.json"
    results.write_bytes(results_bytes(json.loads(results.read_bytes()) | change))
    assert any(said in fault for fault in faults_of(results)), faults_of(results)


def test_an_entry_taken_out_of_the_results_is_told_by_its_record(record):
    """A result that fails could be hidden so: whoever reads the results alone would miss it."""
    results = record.parents[1] / "results.json"
    results.write_bytes(results_bytes(json.loads(results.read_bytes()) | {"results": []}))
    assert told(record) == ["no entry in results.json"]
    results.unlink()
    assert told(record) == ["no entry in results.json"]


def test_a_record_in_no_records_folder_is_incomplete(record, tmp_path):
    alone = tmp_path / "alone" / record.name
    alone.parent.mkdir()
    shutil.copy(record, alone)
    shutil.copy(page_path(record), page_path(alone))
    verified = verify_record(alone, Verifier())
    assert verified.state is State.INCOMPLETE
    assert "it lies in no records folder" in verified.told()[0]
    assert not verified.may_be_signed


def test_a_path_that_no_system_has_is_not_at_hand(tmp_path):
    for stated in ("x" * 300 + "/2026-05-19", "2026/" * 2000 + "2026-05-19", "a\0b"):
        assert find_inputs({"parameters": {"visit_folder": stated}}, None) is None
        assert find_inputs({"parameters": {"visit_folder": stated}}, tmp_path) is None


def test_inputs_elsewhere_and_inputs_gone(record):
    """The record is performed again from what it states; whether the inputs hold that, nobody can ask."""
    site = record.parents[4] / "site"
    moved = site.rename(site.with_name("archive"))
    verified = verify_record(record, Verifier())
    assert verified.state is State.NOT_PERFORMED
    assert "its inputs are not at hand" in verified.told()[0]
    assert any(re.match(r"performed again: \d+ cells", text) for text in verified.said)
    assert sign(record) == 1
    assert list(record.parent.glob("*.signoff-*")) == []
    for inputs in (moved, moved / "STG-1", moved / "STG-1" / "2026-05-19"):
        assert verify_record(record, Verifier(inputs=inputs)).may_be_signed, inputs


def test_other_software_says_what_differs_and_by_how_much_and_raises_no_alarm(tmp_path):
    record = make_records(tmp_path, package_sha256="3" * 64)
    verified = verify_record(record, Verifier())
    assert verified.findings == ()
    assert any("the same by other sources of the same version" in text for text in verified.said)
    reseal(record, lambda content: result_of(content)["quantities"][0].update(sensitivity=4.0))
    (told_,) = [text for text in verify_record(record, Verifier()).told(State.NOT_PERFORMED) if "performed" in text]
    assert "(the record: 0.1.0)" in told_
    assert "quantities[1].sensitivity: 4.0 in the record, 4.05" in told_
    assert "+1.3 %" in told_


@pytest.mark.parametrize(("factor", "same"), [(1.0 + 9e-8, True), (1.0 + 3e-7, False), (1.0 - 3e-7, False)])
def test_only_a_unit_of_the_last_digit_of_a_result_may_differ_in_the_same_surroundings(record, factor, same):
    def change(content):
        (first, *_) = result_of(content)["quantities"]
        first["sensitivity"] *= factor

    reseal(record, change)
    verified = verify_record(record, Verifier())
    assert any(re.match(r"performed again: \d+ cells", text) for text in verified.said) is same
    assert any(fault.startswith("performed again") for fault in verified.faults) is not same


def test_pages_and_reports_alone_were_compared_with_nothing(record, tmp_path):
    alone = tmp_path / "alone"
    alone.mkdir()
    for path in (page_path(record), record.with_name("STG-1-V11.pdf")):
        copy = alone / path.name
        shutil.copy(path, copy)
        (verified,) = verify_path(copy, Verifier())
        assert verified.state is State.NOT_PERFORMED
        assert "was compared with nothing" in verified.told()[0]
        copy.write_bytes(copy.read_bytes().replace(b"linearity", b"linearitY", 1) + b"\n")
        assert faults_of(copy) != []


def test_a_failed_notebook_is_said_to_be_no_record(record):
    failed = record.with_name("linearity.as-found.failed.ipynb")
    keep_failed(record, failed, sentence="It broke.")
    verified = verify_record(failed, Verifier())
    assert verified.state is State.INCOMPLETE
    assert verified.told() == ("no record: a notebook that failed (It broke.)",)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_sealed_notebook_of_any_shape_gets_a_sentence(tmp_path, data):
    words = st.sampled_from(["cells", "metadata", "vibcal_nb", "outputs", "data", "id", "source", "cell_type", "code"])
    odd = st.recursive(
        st.none() | st.integers() | words,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=4),
        max_leaves=8,
    )
    cells = [{"cell_type": "code", "outputs": [{"data": {INPUTS_TYPE: data.draw(odd), RESULT_TYPE: data.draw(odd)}}]}]
    cells = data.draw(st.just(cells) | odd)
    content = {"cells": cells, "metadata": {"vibcal_nb": {"inputs_sha256": data.draw(odd), "notebook": data.draw(odd)}}}
    statements = {name: data.draw(odd) for name in ("record", "made", "parameters", "environment", "replaces")}
    content["metadata"]["vibcal_nb"]["seal"] = make_seal(content, **statements)
    path = tmp_path / "odd.ipynb"
    path.write_bytes(kept_bytes(content))
    page_path(path).write_bytes(b"")
    assert isinstance(verify_record(path, Verifier()).faults, tuple)


def test_differences_are_worded():
    kept = {"a": 1.0, "b": [1.0, 2.0], "c": "pass", "d": None, "e": {"f": 0.0}}
    again = {"a": 1.0 + 1e-9, "b": [1.0], "c": "fail", "d": 1.0, "e": {"g": 1}}
    assert list_differences(kept, kept) == []
    assert list_differences({"a": 1.0}, {"a": 1.0 + 1e-9}, within=0.0) != []
    assert list_differences(kept, again) == [
        "c: 'pass' in the record, 'fail' computed",
        "d: None in the record, 1.0 computed",
        "e.f: no longer computed",
        "e.g: not in the record",
        "b: 2 items in the record, 1 computed",
    ]


def test_paths_and_options_that_make_no_sense_are_refused(record, capsys, tmp_path):
    assert main(["verify", str(tmp_path / "nowhere")]) == 2
    assert main(["verify", str(record), "--sign"]) == 2
    assert "give --name" in capsys.readouterr().err
    for option in ("--name", "--role", "--remark"):
        given = {"--name": "R", "--role": "reviewer", "--remark": ""} | {option: "R\udcff"}
        words = [word for pair in given.items() for word in pair]
        assert main(["verify", str(record), "--sign", *words]) == 2
        assert "is kept as UTF-8" in capsys.readouterr().err
    assert not list(record.parent.glob("*signoff*"))
    (tmp_path / "empty").mkdir()
    assert main(["verify", str(tmp_path / "empty")]) == 2
    other = tmp_path / "x.txt"
    other.write_text("x", encoding="utf-8")
    assert main(["verify", str(other)]) == 1


def sign(record, *options):
    return main(["verify", str(record), "--sign", "--name", "Engineer D", "--remark", "seen", *map(str, options)])


@pytest.mark.parametrize(
    "name", [5, None, ["a"], {"a": 1}, "../" * 9 + "etc/passwd", "/etc/passwd", "a\0b", "a" * 5000]
)
def test_records_that_a_results_file_cannot_mean_are_not_there(record, name):
    results = record.parents[1] / "results.json"
    content = json.loads(results.read_bytes())
    content["results"][0]["record"] = name
    results.write_bytes(results_bytes(content))
    (verified,) = verify_path(results, Verifier())
    assert verified.faults and all("the record is not there" in fault for fault in verified.faults)


def test_a_notebook_of_many_cells_of_one_name_is_told_soon(record):
    content = json.loads(record.read_bytes())
    content["cells"] = [content["cells"][0]] * 100_000
    assert len(sum_parts(content)) > 2 * 100_000
