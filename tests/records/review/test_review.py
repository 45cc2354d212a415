"""Records reviewed: the queue, decisions with their own words, whose key counts, who may review, and what holds.

Signatures are made and checked by OpenSSH (PROTOCOL.sshsig, ssh-keygen(1), ssh-agent(1)); ssh-keygen is asked again.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
from dataclasses import replace
from datetime import date

import pytest

from tests.support.kept.channel_report import keep_results
from tests.support.places import DEMO
from vibcal_nb.display.site.site_answer import site_answer_html, site_answer_text
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT
from vibcal_nb.model.site.site_facts import ReviewRule
from vibcal_nb.notebook.site import overview_of_folder
from vibcal_nb.records.register.documents import RETURN, SIGNOFF
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.register.record_place import place_of
from vibcal_nb.records.register.register import read_documents, register_path
from vibcal_nb.records.review.decide import NotDecided, Reviewer, accept, give_back
from vibcal_nb.records.review.duties import duty_problem
from vibcal_nb.records.review.queue import Standing, list_queue
from vibcal_nb.records.review.returned import holding_return
from vibcal_nb.records.review.seen import note_seen, read_seen
from vibcal_nb.records.signoff.places import list_returns
from vibcal_nb.running.commands.attention import say_returned
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.commands.overview import returned_lines
from vibcal_nb.running.fleet.make_record import Outcome
from vibcal_nb.running.fleet.record_path import RecordCase
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_record import _return_notes

D = Reviewer(name="Engineer D", key=None, rule=ReviewRule())


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """The records of a channel that failed as found and passes as left, and of one that passes."""
    root = tmp_path_factory.mktemp("kept") / "records"
    for channel in ("STG-1-V12", "STG-1-V31"):
        out = root / "STG-1" / "2026-05-19"
        keep_results(load_visit(DEMO / "STG-1" / "2026-05-19"), out, channel=channel, without=(DRIFT, CHANNEL_VERDICT))
    rebuild_register(root)
    return root


@pytest.fixture
def records(kept, tmp_path):
    return shutil.copytree(kept, tmp_path / "records")


def first(records, standing):
    return next(item for item in list_queue([records], {}) if item.standing is standing)


def test_what_needs_a_decision_stands_first(records):
    items = list_queue([records], {})
    standings = [item.standing for item in items]
    assert standings == sorted(standings)
    assert items[0].standing is Standing.DECISION
    assert not items[0].passes
    assert items[0].reasons == (f"{items[0].verdict}, and nobody has signed it",)
    assert all(item.passes for item in items if item.standing is Standing.UNSIGNED)


def test_accepted_records_go_to_the_end_each_with_its_own_remark(records):
    for number, item in enumerate(list_queue([records], {})[:3]):
        accept(item, D, f"remark {number}")
    signed = [item for item in list_queue([records], {}) if item.standing is Standing.SIGNED]
    assert sorted(item.signoffs[0].remark for item in signed) == ["remark 0", "remark 1", "remark 2"]
    assert {item.signoffs[0].signed for item in signed} == {False}
    kinds = [item.kind for item in read_documents(register_path(records))]
    assert kinds.count(SIGNOFF) == 3


def test_a_returned_record_shows_it_until_another_revision_takes_over(records):
    item = first(records, Standing.DECISION)
    give_back(item, D, "the sensor's serial number is not the one that is mounted")
    again = next(found for found in list_queue([records], {}) if found.place == item.place)
    assert again.standing is Standing.RETURNED
    assert again.reasons[0].startswith("returned by Engineer D, 20")
    with pytest.raises(NotDecided, match="returned by Engineer D"):
        accept(again, D, "seen")
    assert [document.kind for document in read_documents(register_path(records))].count(RETURN) == 1
    assert holding_return(item.path, "of another revision") is None
    (line,) = returned_lines(records)
    assert line.endswith(item.place)
    assert "returned by Engineer D" in line


def outcome_of(item, *, seal):
    """What a run has of a record that it found up to date, or made anew with another seal."""
    analysis, _, condition = item.path.stem.partition(".")
    case = RecordCase(
        results_folder=item.path.parent.parent,
        asset="STG-1",
        visit="2026-05-19",
        channel=item.path.parent.name,
        analysis=analysis,
        condition=condition,
    )
    assert case.record == item.path
    return Outcome(case=case, result={"verdict": item.verdict}, skipped=True, seal=seal)


def test_a_run_that_leaves_a_returned_record_as_it_is_names_it_at_its_end(records, capsys):
    item = first(records, Standing.DECISION)
    say_returned([outcome_of(item, seal=item.seal)])
    assert capsys.readouterr().out == ""
    give_back(item, D, "the wrong serial")
    say_returned([outcome_of(item, seal=item.seal)])
    said = capsys.readouterr().out
    assert "Returned by a reviewer: correct what it rests on, and run again" in said
    assert "as found: Engineer D, 20" in said
    assert ": the wrong serial\n" in said
    assert f"see: {item.path.as_posix()}" in said
    say_returned([outcome_of(item, seal="0" * 64), replace(outcome_of(item, seal=item.seal), seal=None)])
    assert capsys.readouterr().out == ""


def test_the_overview_names_a_returned_record_with_its_reason_until_it_is_replaced(records):
    def shown():
        overview = overview_of_folder(records, on=date(2026, 6, 1), interval_months=13.0)
        return site_answer_text(overview), site_answer_html(overview)

    assert all("Returned by a reviewer" not in said for said in shown())
    item = first(records, Standing.DECISION)
    give_back(item, D, "the <b>wrong</b> serial")
    text, html = shown()
    assert f"Returned by a reviewer: {item.place} (Engineer D, 20" in text
    assert ": the <b>wrong</b> serial)" in text
    assert "the &lt;b&gt;wrong&lt;/b&gt; serial" in html
    visit, out = load_visit(DEMO / "STG-1" / "2026-05-19"), records / "STG-1" / "2026-05-19"
    corrected = replace(visit, visit=replace(visit.visit, ambient_c=24.0))
    keep_results(corrected, out, channel=item.path.parent.name, without=(DRIFT, CHANNEL_VERDICT))
    rebuild_register(records)
    assert all("Returned by a reviewer" not in said for said in shown())


def notes_on_returns(item):
    """What verify says of the returns beside a record; all else that it asks performs the record again."""
    return list(_return_notes(place_of(item.path), {"digest": item.seal}, Verifier()))


def test_a_return_is_seen_by_verify_and_one_that_was_taken_away_or_changed_is_an_alarm(records):
    item = first(records, Standing.DECISION)
    path = give_back(item, D, "why")
    (note,) = notes_on_returns(item)
    assert note.state is State.RETURNED
    assert note.text.startswith("returned by Engineer D, ")
    (later,) = notes_on_returns(replace(item, seal="0" * 64))
    assert later.startswith("revision 1 was returned by Engineer D, ")
    data = path.read_bytes()
    path.unlink()
    (note,) = notes_on_returns(item)
    assert note.state is State.ALTERED
    assert "was taken away" in note.text
    path.write_bytes(data.replace(b"why", b"hmm"))
    assert "was changed after it was written" in notes_on_returns(item)[0].text


def test_a_return_needs_a_reason(records):
    with pytest.raises(NotDecided, match="returned with a reason"):
        give_back(first(records, Standing.DECISION), D, "  ")


def test_what_changed_since_it_was_looked_at_is_not_decided_on(records):
    item = first(records, Standing.UNSIGNED)
    with pytest.raises(NotDecided, match="another than was looked at"):
        accept(replace(item, seal="0" * 64), D, "seen")
    give_back(item, D, "first look")
    with pytest.raises(NotDecided, match="returned meanwhile by Engineer D"):
        accept(item, D, "seen")


def test_what_is_another_than_was_seen_is_told(records):
    item = first(records, Standing.UNSIGNED)
    note_seen(records, "Engineer D", {item.place: "0" * 64})
    found = next(i for i in list_queue([records], read_seen(records, "engineer d")) if i.place == item.place)
    assert found.standing is Standing.SINCE_SEEN
    note_seen(records, "Engineer D", {item.place: item.seal})
    found = next(i for i in list_queue([records], read_seen(records, "Engineer D")) if i.place == item.place)
    assert found.standing is Standing.UNSIGNED


def test_a_record_that_was_changed_is_told_and_not_decided_on(records):
    item = first(records, Standing.UNSIGNED)
    item.path.write_bytes(item.path.read_bytes().replace(b"pass", b"fail", 1))
    found = list_queue([records], {})[0]
    assert found.standing is Standing.BROKEN
    with pytest.raises(NotDecided, match="not as it was sealed"):
        accept(found, D, "seen")


@pytest.mark.parametrize(
    ("name", "performed_by", "rule", "said"),
    [
        ("Technician A", "Technician A", ReviewRule(), "performed the visit and does not review it"),
        ("technician a", "Technician  A", ReviewRule(), "performed the visit"),
        ("Technician B", "Technician A and Technician B", ReviewRule(), "performed the visit"),
        ("Technician A", "Technician A", ReviewRule(same_person=True), None),
        ("Engineer D", "Technician A", ReviewRule(), None),
        ("Engineer D", "Technician A", ReviewRule(reviewers=("Engineer E",)), "none of those who review here"),
        ("Engineer D", "Technician A", ReviewRule(reviewers=("Engineer D",)), None),
        ("Engineer D", "", ReviewRule(), None),
    ],
)
def test_who_performed_does_not_review(name, performed_by, rule, said):
    found = duty_problem(name, performed_by, rule)
    assert (found is None) if said is None else said in found


@pytest.mark.parametrize(
    "kind", [("rsa", "-b", "3072"), ("ecdsa", "-b", "256"), ("ecdsa", "-b", "521"), ("ed25519",)], ids="-".join
)
@pytest.mark.parametrize("by_agent", [False, True], ids=["file", "agent"])
def test_keys_of_every_kind_sign_and_count(records, tmp_path, kind, by_agent, monkeypatch):
    key = tmp_path / "key"
    subprocess.run(["ssh-keygen", "-q", "-t", *kind, "-N", "", "-C", "d", "-f", str(key)], check=True)
    public = " ".join((tmp_path / "key.pub").read_text(encoding="utf-8").split()[:2])
    (tmp_path / "signers").write_text(f"engineer.d@example.org {public}\n", encoding="utf-8")
    agent = start_agent(tmp_path, key, monkeypatch) if by_agent else None
    try:
        item = first(records, Standing.UNSIGNED)
        path = accept(item, replace(D, key=tmp_path / "key.pub" if by_agent else key), "seen")
        returned = (
            give_back(first(records, Standing.DECISION), replace(D, key=tmp_path / "key.pub"), "no") if agent else None
        )
    finally:
        if agent is not None:
            os.kill(agent, signal.SIGTERM)
    for signed in (path, *([] if returned is None else [returned])):
        who = ["-I", "engineer.d@example.org", "-n", "vibcal-nb-signoff", "-s", f"{signed}.sig"]
        command = ["ssh-keygen", "-Y", "verify", "-f", str(tmp_path / "signers"), *who]
        subprocess.run(command, input=signed.read_bytes(), check=True, capture_output=True)


def start_agent(folder, key, monkeypatch):
    """Start an agent of our own that holds the key, whose file is gone then; return its process."""
    socket = folder / "a"
    said = subprocess.run(["ssh-agent", "-s", "-a", str(socket)], check=True, capture_output=True, text=True).stdout
    monkeypatch.setenv("SSH_AUTH_SOCK", str(socket))
    subprocess.run(["ssh-add", "-q", str(key)], check=True, capture_output=True)
    key.unlink()
    return int(said.partition("SSH_AGENT_PID=")[2].partition(";")[0])


def test_the_command_lists_decides_and_refuses(records, capsys):
    where = str(records)
    assert main(["review", where]) == 1
    said = capsys.readouterr().out
    assert said.startswith("Needs a decision")
    assert " needs a decision, " in said.splitlines()[-1]
    item = first(records, Standing.DECISION)
    assert main(["review", where, "--return", str(item.path), "wrong sensor", "--name", "Engineer D"]) == 1
    assert "returned, typed and unsigned" in capsys.readouterr().out
    assert len(list_returns(item.path)) == 1
    assert main(["review", where, "--accept-passing", "seen", "--name", "Technician A"]) == 2
    assert "Technician A is none of those who review here (Engineer D, site.toml)" in capsys.readouterr().err
    assert main(["review", where, "--accept-passing", "seen"]) == 2
    assert "give --name" in capsys.readouterr().err
    assert main(["review", where, "--accept", "nothing.ipynb", "seen", "--name", "Engineer D"]) == 2
    assert "0 records of the queue are called that" in capsys.readouterr().err
    assert main(["review", where, "--accept-passing", "all seen", "--name", "Engineer D", "--site", str(DEMO)]) == 0
    signed = [i for i in list_queue([records], {}) if i.standing is Standing.SIGNED]
    assert {i.signoffs[0].remark for i in signed} == {"all seen"}
    assert all(i.passes for i in signed)


def test_a_register_made_anew_knows_what_was_returned(records):
    give_back(first(records, Standing.DECISION), D, "why")
    assert rebuild_register(records).lost == ()
    assert RETURN in {document.kind for document in read_documents(register_path(records))}


def test_an_empty_folder_is_refused(tmp_path, capsys):
    assert main(["review", str(tmp_path)]) == 2
    assert f"There is no record here ({tmp_path.as_posix()})" in capsys.readouterr().err


def test_a_record_that_is_not_there_is_missing_and_not_altered(tmp_path, capsys):
    nowhere = tmp_path / "linearity.as-found.ipynb"
    for command in ("review", "certificate"):
        assert main([command, str(nowhere)]) == 2
        said = capsys.readouterr()
        assert said.err == f"{nowhere.as_posix()}: no such file or folder; give a record, or a folder of records.\n"
        assert said.out == ""


def test_what_is_not_as_it_was_sealed_is_no_success(tmp_path, capsys):
    odd = tmp_path / "linearity.as-found.ipynb"
    odd.write_text("nothing", encoding="utf-8")
    assert main(["review", str(odd)]) == 1
    assert "not as it was sealed: broken JSON" in capsys.readouterr().out
