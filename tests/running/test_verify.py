"""`verify`: what was changed is named, whatever file it is in; what was not touched is not accused; sign-offs hold."""

from __future__ import annotations

import json
import random
import shutil
import subprocess

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.made_records import make_records, reseal
from vibcal_nb.records.files.canonical import kept_bytes, results_bytes
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.perform.differences import list_differences
from vibcal_nb.records.seal.failed import keep_failed
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import digest_of, make_seal, seal_of, sum_parts
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.verify.verify_files import verify_path
from vibcal_nb.running.verify.verify_record import Verifier, find_inputs, verify_record


@pytest.fixture
def record(tmp_path):
    return make_records(tmp_path)


def faults_of(path):
    return [fault for verified in verify_path(path, Verifier()) for fault in verified.faults]


def test_untouched_records_are_in_order(record, capsys):
    root = record.parents[3]
    assert faults_of(root) == []
    verified = verify_record(record, Verifier())
    assert verified.said[:3] == ("intact", "page intact", "4 input files unchanged")
    assert "the same bit for bit" in verified.said[3]
    assert main(["verify", str(root)]) == 0
    assert capsys.readouterr().out.endswith("4 in order, 0 not.\n")


def test_500_single_bytes_changed_at_random_in_any_file_are_all_told(record):
    """Record, page, sheet, results file, and each input file."""
    out = record.parents[1]
    site = record.parents[4] / "site"
    inputs = [site / "equipment.toml", site / "STG-1" / "asset.toml"]
    inputs += [site / "STG-1" / "2026-05-19" / name for name in ("visit.toml", "readings.csv")]
    own = [record, page_path(record), record.with_name("STG-1-V11.pdf"), out / "results.json"]
    chance = random.Random(17025)
    for number in range(500):
        file = chance.choice([*own, *inputs])
        data = file.read_bytes()
        place = chance.randrange(len(data))
        value = chance.choice([v for v in range(256) if v != data[place]])
        file.write_bytes(data[:place] + bytes([value]) + data[place + 1 :])
        told = [
            (v.path.name, fault)
            for path in (record, *own[2:])
            for v in verify_path(path, Verifier())
            for fault in v.faults
        ]
        assert told, (number, file.name, place, value)
        named = any(file.name in name or file.name in fault for name, fault in told)
        assert named, (number, file.name, told)
        file.write_bytes(data)
    assert faults_of(out) == []


def test_a_forger_who_seals_anew_is_found_by_performing_again_and_by_every_witness(record):
    def forge(content):
        result_of(content)["quantities"][0]["sensitivity"] = 4.2

    reseal(record, forge)
    faults = verify_record(record, Verifier()).faults
    assert any("performed again: quantities[1].sensitivity: 4.2 in the record" in fault for fault in faults)
    assert any(fault.startswith("its page linearity.as-found.html is of another record") for fault in faults)
    assert "results.json names another seal for it" in faults
    told = "\n".join(faults_of(record.parents[3]))
    assert "the record has another seal" in told
    assert "not the record that was registered" in told
    assert "of which it was made" in told


def test_a_changed_input_is_named_and_what_follows_from_it(record):
    readings = record.parents[4] / "site" / "STG-1" / "2026-05-19" / "readings.csv"
    readings.write_text(readings.read_text(encoding="utf-8").replace("40.", "41."), encoding="utf-8")
    faults = verify_record(record, Verifier()).faults
    assert faults[0].startswith("input readings.csv was changed")
    assert any("deviation_pct" in fault and "%" in fault for fault in faults)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"schema": 4}, "its schema is '4', not 1"),
        ({"schema": None}, "its schema is nothing, not 1"),
        ({"schema": True}, "its schema is 'True', not 1"),
        ({"asset": "STG-2"}, "the record is of the asset 'STG-1', and the file of 'STG-2'"),
        ({"visit": "2026-05-18"}, "the record is of the visit '2026-05-19', and the file of '2026-05-18'"),
        ({"visit": ["2026-05-19"]}, "the record is of the visit '2026-05-19', and the file of"),
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
    assert "no entry in results.json; if a run was stopped, run again" in faults_of(record)
    results.unlink()
    assert faults_of(record) == []


def test_a_path_that_no_system_has_is_not_at_hand(tmp_path):
    for stated in ("x" * 300 + "/2026-05-19", "2026/" * 2000 + "2026-05-19", "a\0b"):
        assert find_inputs({"parameters": {"visit_folder": stated}}, None) is None
        assert find_inputs({"parameters": {"visit_folder": stated}}, tmp_path) is None


def test_inputs_elsewhere_and_inputs_gone(record):
    site = record.parents[4] / "site"
    moved = site.rename(site.with_name("archive"))
    verified = verify_record(record, Verifier())
    assert verified.faults == ()
    assert any("not performed again (give --inputs FOLDER)" in said for said in verified.said)
    for inputs in (moved, moved / "STG-1", moved / "STG-1" / "2026-05-19"):
        assert any("bit for bit" in said for said in verify_record(record, Verifier(inputs=inputs)).said), inputs


def test_another_version_says_what_differs_and_by_how_much(tmp_path):
    record = make_records(tmp_path, package="3" * 64, version="0.0.9")
    said = verify_record(record, Verifier()).said
    assert any("the same to within 1e-06 of their size" in text for text in said)
    reseal(record, lambda content: result_of(content)["quantities"][0].update(sensitivity=4.0))
    faults = verify_record(record, Verifier()).faults
    (fault,) = [fault for fault in faults if fault.startswith("performed again")]
    assert "(the record: 0.0.9)" in fault
    assert "quantities[1].sensitivity: 4.0 in the record, 4.05" in fault
    assert "+1.3 %" in fault


@pytest.mark.parametrize(("factor", "same"), [(1.0 + 9e-8, True), (1.0 + 3e-7, False), (1.0 - 3e-7, False)])
def test_only_a_unit_of_the_last_digit_may_differ_in_the_same_environment(record, factor, same):
    def change(content):
        (first, *_) = result_of(content)["quantities"]
        first["sensitivity"] *= factor

    reseal(record, change)
    verified = verify_record(record, Verifier())
    assert any("but for a unit of the last of eight digits" in text for text in verified.said) is same
    assert any(fault.startswith("performed again") for fault in verified.faults) is not same


def test_pages_and_sheets_alone(record, tmp_path):
    alone = tmp_path / "alone"
    alone.mkdir()
    for path in (page_path(record), record.with_name("STG-1-V11.pdf")):
        copy = alone / path.name
        shutil.copy(path, copy)
        (verified,) = verify_path(copy, Verifier())
        assert verified.faults == ()
        assert verified.said[0].startswith("whole; its ")
        copy.write_bytes(copy.read_bytes().replace(b"linearity", b"linearitY", 1) + b"\n")
        assert faults_of(copy) != []


def test_a_failed_notebook_is_said_to_be_no_record(record):
    failed = record.with_name("linearity.as-found.failed.ipynb")
    keep_failed(record, failed, sentence="It broke.")
    verified = verify_record(failed, Verifier())
    assert verified.said == ("no record: a notebook that failed (It broke.)",)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_sealed_notebook_of_any_shape_gets_a_sentence(tmp_path, data):
    words = st.sampled_from(["cells", "metadata", "vibcal_nb", "outputs", "data", "id", "source", "cell_type", "code"])
    odd = st.recursive(
        st.none() | st.integers() | words,
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=4),
        max_leaves=8,
    )
    content = {"cells": data.draw(odd), "metadata": {"vibcal_nb": {"inputs_sha256": data.draw(odd)}}}
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


def make_key(folder, name):
    key = folder / name
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(key)], check=True)
    return key


def sign(record, *options):
    return main(["verify", str(record), "--sign", "--name", "Engineer D", "--remark", "seen", *map(str, options)])


def test_a_signature_by_an_allowed_key_counts_and_no_other(record, tmp_path, capsys):
    """OpenSSH signs and checks (PROTOCOL.sshsig, ssh-keygen(1)); ssh-keygen itself is asked once more here."""
    key, stranger = make_key(tmp_path, "d"), make_key(tmp_path, "x")
    allowed = tmp_path / "allowed_signers"
    allowed.write_text(f"engineer.d@example.org {key.with_suffix('.pub').read_text()}", encoding="utf-8")
    assert sign(record, "--key", key) == 0
    statement = record.with_name("linearity.as-found.signoff-1.json")
    said = json.loads(statement.read_bytes())
    assert (said["name"], said["role"], said["remark"]) == ("Engineer D", "reviewer", "seen")
    who = ["-I", "engineer.d@example.org", "-n", "vibcal-nb-signoff", "-s", f"{statement}.sig"]
    independent = subprocess.run(
        ["ssh-keygen", "-Y", "verify", "-f", allowed, *who],
        input=statement.read_bytes(),
        capture_output=True,
        check=False,
    )
    assert independent.returncode == 0
    assert any(
        "signature fits; whose key it is was not checked" in text for text in verify_record(record, Verifier()).said
    )
    verifier = Verifier(allowed_signers=allowed)
    assert any(
        "signature valid, key of engineer.d@example.org" in text for text in verify_record(record, verifier).said
    )
    assert sign(record, "--key", stranger) == 0
    assert any("by no allowed signer" in fault for fault in verify_record(record, verifier).faults)
    capsys.readouterr()


def test_a_changed_or_foreign_signoff_is_told(record, tmp_path):
    assert sign(record, "--key", make_key(tmp_path, "d")) == 0
    statement = record.with_name("linearity.as-found.signoff-1.json")
    data = statement.read_bytes()
    statement.write_bytes(data.replace(b"Engineer D", b"Engineer E"))
    assert "it was changed after it was written" in verify_record(record, Verifier()).faults[0]
    said = {k: v for k, v in json.loads(data).items() if k != "digest"} | {"name": "Engineer E"}
    statement.write_bytes(kept_bytes({**said, "digest": digest_of(said)}))
    assert "does not fit" in verify_record(record, Verifier()).faults[0]
    statement.write_bytes(data)
    reseal(record, lambda content: content["cells"][0].update(source=["# Other"]))
    assert any("is of another seal" in fault for fault in verify_record(record, Verifier()).faults)


def test_a_revision_takes_page_sheet_and_signoffs_of_the_record_before_aside(record, tmp_path):
    assert sign(record, "--key", make_key(tmp_path, "d")) == 0
    make_records(tmp_path, gain=4.06)
    root = record.parents[3]
    assert faults_of(root) == []
    aside = sorted(path.name for path in (record.parent / "superseded").iterdir())
    assert [name for name in aside if not name.endswith(".pdf")] == [
        "linearity.as-found.rev1.html",
        "linearity.as-found.rev1.ipynb",
        "linearity.as-found.rev1.signoff-1.json",
        "linearity.as-found.rev1.signoff-1.json.sig",
    ]
    said = verify_record(record.parent / "superseded" / "linearity.as-found.rev1.ipynb", Verifier()).said
    assert "superseded, revision 1: not performed again" in said
    assert any(text.startswith("signed off by Engineer D") for text in said)
    assert not any("signed off" in text for text in verify_record(record, Verifier()).said)
    (old,) = (record.parent / "superseded").glob("*.pdf")
    (sheet,) = verify_path(old, Verifier())
    assert sheet.said == ("intact, of 1 records",)


def test_a_typed_signoff_is_shown_as_unsigned(record):
    assert sign(record) == 0
    said = verify_record(record, Verifier()).said
    assert any(text.startswith("typed sign-off, unsigned: Engineer D, reviewer, ") for text in said)


def test_a_record_that_is_not_in_order_is_not_signed(record):
    record.write_bytes(record.read_bytes().replace(b"20.12", b"20.13", 1))
    assert sign(record) == 1
    assert list(record.parent.glob("*.signoff-*")) == []


def test_a_key_that_is_not_there_is_said(record, tmp_path, capsys):
    assert sign(record, "--key", tmp_path / "none") == 3
    assert "There is no key file" in capsys.readouterr().err


def test_what_a_file_says_cannot_command_the_terminal_or_forge_a_line(record, capsys):
    statement = {"schema": 1, "record": record.name, "role": "reviewer", "date": "2026-06-01", "remark": ""}
    statement |= {"seal": seal_of(json.loads(record.read_bytes()))["digest"]}
    statement |= {"name": "A\x1b[2J\n✓ other.ipynb: intact; signed off by everybody\u202e"}
    path = record.with_name(f"{record.stem}.signoff-1.json")
    path.write_bytes(kept_bytes({**statement, "digest": digest_of(statement)}))
    assert main(["verify", str(record)]) == 0
    printed = capsys.readouterr().out
    assert len(printed.splitlines()) == 2
    assert all(line.isprintable() for line in printed.splitlines())


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
