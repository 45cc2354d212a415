"""Sign-offs: whose they are, of what, at what time; and what is told where one was changed, moved or taken away.

OpenSSH signs and checks (PROTOCOL.sshsig, ssh-keygen(1)); ssh-keygen itself is asked once more here.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess

import pytest

from tests.support.kept.made_records import make_records, reseal
from tests.support.kept.performed import remember_performances
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.seal.seal import digest_of, seal_of
from vibcal_nb.records.signoff.allowed_signers import read_allowed_signers
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_files import verify_path
from vibcal_nb.running.verify.verify_record import verify_record

FIRST = "linearity.as-found.signoff-1.json"


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    yield
    end()


@pytest.fixture
def record(tmp_path):
    return make_records(tmp_path)


@pytest.fixture(scope="module")
def keys(tmp_path_factory):
    folder = tmp_path_factory.mktemp("keys")
    for name in ("d", "x"):
        command = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(folder / name)]
        subprocess.run(command, check=True)
    return folder


def sign(record, *options, name="Engineer D", remark="seen"):
    return main(["verify", str(record), "--sign", "--name", name, "--remark", remark, *map(str, options)])


def public(keys, name):
    return " ".join((keys / f"{name}.pub").read_text(encoding="utf-8").split()[:2])


def allowed(tmp_path, *lines):
    path = tmp_path / "allowed_signers"
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return Verifier(allowed=read_allowed_signers(path))


def forged(statement, **changes):
    """A sign-off changed as somebody who knows how could."""
    said = {k: v for k, v in json.loads(statement.read_bytes()).items() if k != "digest"} | changes
    statement.write_bytes(kept_bytes({**said, "digest": digest_of(said)}))


def test_a_signature_by_the_key_of_that_name_counts(record, tmp_path, keys, capsys):
    assert sign(record, "--key", keys / "d") == 0
    statement = record.with_name(FIRST)
    said = json.loads(statement.read_bytes())
    assert (said["name"], said["role"], said["remark"], said["verdict"]) == ("Engineer D", "reviewer", "seen", "pass")
    assert said["record"] == "STG-1/2026-05-19/STG-1-V11/linearity.as-found.ipynb"
    line = f"engineer.d@example.org {public(keys, 'd')}"
    (tmp_path / "signers").write_text(line + "\n", encoding="utf-8")
    who = ["-I", "engineer.d@example.org", "-n", "vibcal-nb-signoff", "-s", f"{statement}.sig"]
    independent = subprocess.run(
        ["ssh-keygen", "-Y", "verify", "-f", tmp_path / "signers", *who],
        input=statement.read_bytes(),
        capture_output=True,
        check=False,
    )
    assert independent.returncode == 0
    unasked = verify_record(record, Verifier())
    assert any("signature fits; whose key it is was not checked" in text for text in unasked.said)
    asked = verify_record(record, allowed(tmp_path, line))
    assert any("signature valid, key of engineer.d@example.org" in text for text in asked.said)
    assert asked.findings == ()
    capsys.readouterr()


@pytest.mark.parametrize(
    ("principals", "name", "good"),
    [
        ("engineer.d@example.org", "Engineer D", True),
        ('"Engineer D,d@example.org"', "Engineer D", True),
        ("d@example.org", "Engineer D", False),
        ("engineer.d@example.org", "Engineer E", False),
        ("engineer.d@example.org", "Еngineer D", False),  # the first letter is Cyrillic
        ("*", "Engineer D", False),
        ("*@example.org", "Engineer D", False),
        ("engineer.d@example.org,*", "Engineer D", False),
    ],
)
def test_a_key_counts_for_the_name_that_the_list_ties_it_to(record, tmp_path, keys, principals, name, good, capsys):
    assert sign(record, "--key", keys / "d", name=name) == 0
    verified = verify_record(record, allowed(tmp_path, f"{principals} {public(keys, 'd')}"))
    assert (verified.state is None) is good
    if not good:
        assert verified.state is State.UNSIGNED
        assert verified.faults == ()
        assert "by no allowed signer" in verified.told()[0]
    capsys.readouterr()


def test_another_persons_key_under_a_name_of_the_list_does_not_count(record, tmp_path, keys, capsys):
    assert sign(record, "--key", keys / "x") == 0
    lines = [f"engineer.d@example.org {public(keys, 'd')}", f"technician.x@example.org {public(keys, 'x')}"]
    (said,) = verify_record(record, allowed(tmp_path, *lines)).told(State.UNSIGNED)
    assert said.endswith("the key is another than the list has for that name")
    capsys.readouterr()


def test_an_expired_key_is_judged_at_the_time_of_signing(record, tmp_path, keys, capsys):
    assert sign(record, "--key", keys / "d") == 0
    own = public(keys, "d")
    later = allowed(tmp_path, f'engineer.d@example.org valid-before="21000101" {own}')
    assert verify_record(record, later).state is None
    before = allowed(tmp_path, f'engineer.d@example.org valid-before="20200101" {own}')
    (said,) = verify_record(record, before).told(State.UNSIGNED)
    assert said.endswith("the key was not valid on that day")
    not_yet = allowed(tmp_path, f'engineer.d@example.org valid-after="21000101" {own}')
    assert verify_record(record, not_yet).state is State.UNSIGNED
    capsys.readouterr()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("engineer.d@example.org", "it holds one word"),
        ("ssh-ed25519 AAAA", "it begins with a key"),
        ("engineer.d@example.org AAAA", "'AAAA' is neither an option nor a type of key"),
        ("engineer.d@example.org ssh-ed25519 AAAAC3Nza", "its key is cut off or changed"),
        ("engineer.d@example.org ssh-ed25519 {rsa}", "its key is no ssh-ed25519"),
        ("* ssh-ed25519 {good}", "'*' is no name of one person"),
        ('engineer.d@example.org namespaces="a" valid-befor="20300101" ssh-ed25519 {good}', "'valid-befor="),
    ],
)
def test_the_line_of_the_list_that_is_wrong_is_named(record, tmp_path, keys, line, said, capsys):
    good = public(keys, "d").split()[1]
    rsa = "AAAAB3NzaC1yc2EAAAADAQAB"
    path = tmp_path / "allowed_signers"
    text = f"# reviewers\n{line.format(good=good, rsa=rsa)}\nengineer.d@example.org ssh-ed25519 {good}\n"
    path.write_text(text, encoding="utf-8")
    assert main(["verify", str(record), "--allowed-signers", str(path)]) == 0
    assert f"allowed_signers, line 2: {said}" in capsys.readouterr().err


def test_a_list_that_cannot_be_read_is_refused(record, tmp_path, capsys):
    path = tmp_path / "allowed_signers"
    path.write_bytes(b"\xff\xfe\x00")
    assert main(["verify", str(record), "--allowed-signers", str(path)]) == 2
    assert "no text in UTF-8" in capsys.readouterr().err


def test_a_changed_or_foreign_signoff_is_told(record, keys):
    assert sign(record, "--key", keys / "d") == 0
    statement = record.with_name(FIRST)
    data = statement.read_bytes()
    statement.write_bytes(data.replace(b"Engineer D", b"Engineer E"))
    assert "it was changed after it was written" in verify_record(record, Verifier()).faults[0]
    forged(statement, name="Engineer E")
    assert "does not fit" in verify_record(record, Verifier()).faults[0]
    statement.write_bytes(data)
    reseal(record, lambda content: content["cells"][0].update(source=["# Other"]))
    assert any("is of another seal" in fault for fault in verify_record(record, Verifier()).faults)


@pytest.mark.parametrize("gone", [FIRST, f"{FIRST}.sig", "both"])
def test_a_signoff_or_signature_that_was_taken_away_is_told(record, keys, gone):
    assert sign(record, "--key", keys / "d") == 0
    for name in (FIRST, f"{FIRST}.sig"):
        if gone in (name, "both"):
            record.with_name(name).unlink()
    faults = verify_record(record, Verifier()).faults
    assert any("was taken away" in fault or "its signature is gone" in fault for fault in faults), faults


def test_a_signoff_is_of_one_place(record, keys, tmp_path):
    """The same seal elsewhere, as in a copy of the folder under another asset's name, is not what was signed."""
    assert sign(record, "--key", keys / "d") == 0
    statement = record.with_name(FIRST)
    forged(statement, record="STG-1/2025-05-19/STG-1-V11/linearity.as-found.ipynb")
    statement.with_name(f"{FIRST}.sig").unlink()
    assert any("is of the record at STG-1/2025-05-19" in fault for fault in verify_record(record, Verifier()).faults)


def test_a_revision_takes_page_report_and_signoffs_of_the_record_before_aside(record, tmp_path, keys):
    assert sign(record, "--key", keys / "d") == 0
    make_records(tmp_path, gain=4.06)
    found = [item for item in verify_path(record.parents[3], Verifier()) if item.findings]
    assert [(item.path.name, item.told()) for item in found] == []
    aside = sorted(path.name for path in (record.parent / "superseded").iterdir())
    assert [name for name in aside if not name.endswith(".pdf")] == [
        "linearity.as-found.rev1.html",
        "linearity.as-found.rev1.ipynb",
        "linearity.as-found.rev1.signoff-1.json",
        "linearity.as-found.rev1.signoff-1.json.sig",
    ]
    old = verify_record(record.parent / "superseded" / "linearity.as-found.rev1.ipynb", Verifier())
    assert "superseded, revision 1" in old.said
    assert any(text.startswith("signed off by Engineer D") for text in old.said)
    assert any(re.match(r"performed again: \d+ cells", text) for text in old.said)
    assert not old.may_be_signed
    assert not any("signed off" in text for text in verify_record(record, Verifier()).said)
    (report,) = (record.parent / "superseded").glob("*.pdf")
    (told,) = verify_path(report, Verifier())
    assert told.said == ("intact, of 1 records, typeset again byte for byte",)


def test_who_had_signed_stays_to_be_seen_from_the_new_revision(record, tmp_path, keys):
    assert sign(record, "--key", keys / "d") == 0
    make_records(tmp_path, gain=4.06)
    replaces = seal_of(json.loads(record.read_bytes()))["replaces"]
    (signed,) = replaces["signed_off"]
    assert signed["by"].startswith("Engineer D, reviewer, ")
    assert signed["signature"] is True
    assert any(text.startswith("row 2 of linearity as-found, output: from 8.") for text in replaces["changed"])
    assert "had been signed off" in record.with_suffix(".html").read_text(encoding="utf-8")


def test_superseded_records_are_not_signed(record, tmp_path):
    make_records(tmp_path, gain=4.06)
    assert sign(record.parents[3]) == 0
    assert [path.name for path in record.parents[3].rglob("*.signoff-*")] == [FIRST]


def test_one_remark_does_not_stand_on_unlike_verdicts(record, tmp_path, capsys):
    other = make_records(tmp_path / "other", gain=5.0)
    paths = [str(record), str(other)]
    words = ["--sign", "--name", "Engineer D"]
    assert main(["verify", *paths, *words, "--remark", "seen"]) == 2
    assert "The remark would stand on unlike verdicts (1 fail, 1 pass)" in capsys.readouterr().err
    assert not list(tmp_path.rglob("*.signoff-*"))
    assert main(["verify", *paths, *words, "--remark", "mend it", "--verdict", "fail"]) == 0
    assert [path.parent for path in tmp_path.rglob("*.signoff-*.json")] == [other.parent]
    assert main(["verify", *paths, *words]) == 0
    assert len(list(tmp_path.rglob("*.signoff-*.json"))) == 3


def test_a_typed_signoff_is_shown_as_unsigned(record):
    assert sign(record) == 0
    said = verify_record(record, Verifier()).said
    assert any(text.startswith("typed sign-off, unsigned: Engineer D, reviewer, ") for text in said)


def test_a_record_that_is_not_in_order_is_not_signed(record):
    record.write_bytes(record.read_bytes().replace(b"20.01", b"20.02", 1))
    assert sign(record) == 1
    assert list(record.parent.glob("*.signoff-*")) == []


def test_a_record_of_a_shadow_copy_that_is_gone_is_not_signed(record, tmp_path):
    """Made from a copy of the site with wider limits, which was then deleted: nobody can ask what it was made from."""
    shutil.rmtree(tmp_path / "site")
    assert sign(record) == 1
    assert list(record.parent.glob("*.signoff-*")) == []


def test_a_key_that_is_not_there_is_said(record, tmp_path, capsys):
    assert sign(record, "--key", tmp_path / "none") == 3
    assert "There is no key file" in capsys.readouterr().err


def test_what_a_file_says_cannot_command_the_terminal_or_forge_a_line(record, capsys):
    statement = {"schema": 1, "record": record.name, "role": "reviewer", "date": "2026-06-01", "remark": ""}
    statement |= {"seal": seal_of(json.loads(record.read_bytes()))["digest"]}
    statement |= {"name": "A\x1b[2J\n✓ other.ipynb: intact; signed off by everybody\u202e"}
    path = record.with_name(FIRST)
    path.write_bytes(kept_bytes({**statement, "digest": digest_of(statement)}))
    assert main(["verify", str(record)]) == 1  # nobody entered it into the register
    printed = capsys.readouterr().out
    assert all(line.isprintable() for line in printed.splitlines())
    assert not any(line.startswith("✓ other") for line in printed.splitlines())
