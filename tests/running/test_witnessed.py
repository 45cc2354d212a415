"""`verify --witness`: who has the whole folder and the package makes it agree; a witness kept elsewhere tells."""

from __future__ import annotations

import json
import shutil

import pytest

from tests.support.kept.made_records import make_records, reseal
from tests.support.kept.performed import remember_performances
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.seal.seal import seal_of
from vibcal_nb.records.witness.chain import WitnessUnusable, append, read_chain
from vibcal_nb.records.witness.entries import enter_register, refuse_other_witness
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_files import list_files, verify_file
from vibcal_nb.running.verify.verify_witness import verify_witness


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    yield
    end()


@pytest.fixture
def record(tmp_path):
    record = make_records(tmp_path)
    enter_register(tmp_path / "records", tmp_path / "witness.jsonl")
    return record


def told(record, *states, below=None):
    """What is not in order in the folder, or below a path of it, with the witness."""
    root, path = record.parents[3], below or record.parents[3]
    verifier = Verifier(witness=read_chain(root.with_name("witness.jsonl")))
    found = [verify_file(file, verifier) for file in list_files(path)]
    found.append(verify_witness(verifier.witness, [path], verifier))
    return [text for verified in found for text in verified.told(*states)]


def cut(record, count):
    path = record.parents[3].with_name("witness.jsonl")
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:count]))


def test_an_untouched_folder_and_its_witness_agree(record, tmp_path, capsys):
    assert told(record) == []
    assert told(record, below=record) == []
    assert told(record, below=record.parents[2]) == []
    assert (
        main(["verify", str(tmp_path / "records"), "-v", "--witness", str(tmp_path)]) == 0
    )  # its folder names it, too
    printed = capsys.readouterr().out
    assert "entered into the witness" in printed
    assert f"1 entries, the last with the hash {read_chain(tmp_path / 'witness.jsonl').head}" in printed


def test_a_revision_and_a_signoff_are_entered_behind(record, tmp_path, capsys):
    assert main(["verify", str(record), "--sign", "--name", "Engineer D"]) == 0
    make_records(tmp_path, gain=4.06)
    assert "it is not in the witness (run again with --witness)" in told(record, State.INCOMPLETE)
    chain, new = enter_register(tmp_path / "records", tmp_path / "witness.jsonl")
    assert [entry.witnessed.kind for entry in chain.entries] == ["record", "record", "sign-off"]
    assert new == 2
    assert enter_register(tmp_path / "records", tmp_path / "witness.jsonl")[1] == 0
    assert told(record) == []
    capsys.readouterr()


def test_a_folder_made_anew_with_everything_in_it_agreeing_is_told(record, tmp_path):
    """Other readings, the records made again by the package, register and all: nothing in the folder says so."""
    shutil.rmtree(tmp_path / "records")
    shutil.rmtree(tmp_path / "site")
    make_records(tmp_path, gain=4.0)
    assert told(record, State.ALTERED) == [
        "STG-1/2026-05-19/STG-1-V11/linearity.as-found.ipynb: this record was entered on "
        f"{read_chain(tmp_path / 'witness.jsonl').entries[0].at[:10]} with the seal "
        f"{read_chain(tmp_path / 'witness.jsonl').entries[0].witnessed.sum[:16]}…, and is gone"
    ]
    with pytest.raises(WitnessUnusable, match="holds 1 record that the register"):
        refuse_other_witness(tmp_path / "records", tmp_path / "witness.jsonl")


def test_everything_of_a_record_taken_away_together_is_told(record, tmp_path):
    shutil.rmtree(record.parents[2])
    rebuild_register(tmp_path / "records")
    for aside in (tmp_path / "records").glob("register.aside-*"):
        aside.unlink()
    (said,) = told(record, State.ALTERED)
    assert said.endswith("and is gone")
    (tmp_path / "records" / "register.sqlite").unlink()
    (said,) = told(record, State.ALTERED)
    assert said.endswith("and is gone")


def test_an_earlier_revision_put_back_in_place_of_the_later_one_is_told(record, tmp_path):
    old = {path: path.read_bytes() for path in (tmp_path / "records").rglob("*") if path.is_file()}
    make_records(tmp_path, gain=4.06)
    enter_register(tmp_path / "records", tmp_path / "witness.jsonl")
    shutil.rmtree(tmp_path / "records")
    for path, data in old.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    found = told(record, State.ALTERED)
    assert any("the witness holds a later revision of it" in said for said in found)
    assert any(said.endswith("and is gone") for said in found)


def test_a_signoff_taken_away_with_its_row_is_told(record, tmp_path, capsys):
    assert main(["verify", str(record), "--sign", "--name", "Engineer D"]) == 0
    enter_register(tmp_path / "records", tmp_path / "witness.jsonl")
    next(record.parent.glob("*.signoff-1.json")).unlink()
    (tmp_path / "records" / "register.sqlite").unlink()
    rebuild_register(tmp_path / "records")
    (said,) = told(record, State.ALTERED)
    assert "linearity.as-found.signoff-1.json: this sign-off was entered on" in said
    capsys.readouterr()


@pytest.mark.parametrize("count", [0, 1])
def test_an_end_that_was_cut_off_is_told_by_the_register(record, tmp_path, count):
    make_records(tmp_path, gain=4.06)
    enter_register(tmp_path / "records", tmp_path / "witness.jsonl")
    rebuild_register(tmp_path / "records")  # which keeps how far the witness had come
    for aside in (tmp_path / "records").glob("register.aside-*"):
        aside.unlink()
    assert told(record) == []
    cut(record, count)
    found = told(record, State.ALTERED)
    assert any("its end was cut off" in said or "began otherwise" in said for said in found), found


def test_another_witness_of_the_same_name_is_told(record, tmp_path):
    witness = tmp_path / "witness.jsonl"
    entered = [entry.witnessed for entry in read_chain(witness).entries]
    witness.unlink()
    append(witness, entered, at="2026-05-20T08:00:00+00:00")
    assert any("began otherwise" in said for said in told(record, State.ALTERED))


def test_a_forged_record_that_was_entered_behind_is_told_by_the_entry_before_it(record, tmp_path):
    reseal(record, lambda content: content["cells"][0].update(source=["# Other"]))
    rebuild_register(tmp_path / "records")
    enter_register(tmp_path / "records", tmp_path / "witness.jsonl")
    assert any("and is gone" in said for said in told(record, State.ALTERED))
    last = read_chain(tmp_path / "witness.jsonl").entries[-1].witnessed
    assert last.sum == seal_of(json.loads(record.read_bytes()))["digest"]


def test_what_makes_no_sense_is_refused_before_anything_is_made(record, tmp_path, capsys):
    site, out = str(tmp_path / "site"), str(tmp_path / "records")
    for place, said in (
        (tmp_path / "none" / "w.jsonl", "no such folder"),
        (tmp_path / "records" / "w.jsonl", "keep it elsewhere"),
    ):
        assert main(["run", site, "--out", out, "--witness", str(place)]) == 2
        assert said in capsys.readouterr().err
    assert main(["verify", out, "--witness", str(tmp_path / "none.jsonl")]) == 2
    assert "no such witness" in capsys.readouterr().err
    before = (tmp_path / "witness.jsonl").read_bytes()
    assert main(["run", site, "--out", str(tmp_path / "other"), "--witness", str(tmp_path / "witness.jsonl")]) == 2
    assert "holds 1 record that the register" in capsys.readouterr().err
    (tmp_path / "witness.jsonl").write_bytes(before.replace(b'"number":1', b'"number":2'))
    assert main(["run", site, "--out", out, "--witness", str(tmp_path / "witness.jsonl")]) == 2
    assert "the witness was altered" in capsys.readouterr().err
    assert not (tmp_path / "other").exists()
