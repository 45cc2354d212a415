"""The register: append-only, safe beside other writers, and every removed or altered row named.

SQLite's own transactions and SHA-256 carry the promises; nothing here has a published value to compare with.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.kept.made_records import make_records, reseal
from tests.support.kept.register import row, tamper
from tests.support.places import ROOT
from tests.support.sites.made_up_site import register_rows
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.notebook.site import overview_of_folder
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.register import rebuild
from vibcal_nb.records.register import register as module
from vibcal_nb.records.register.documents import Document
from vibcal_nb.records.register.read_site import read_site
from vibcal_nb.records.register.rebuild import rebuild_register, set_aside_registers
from vibcal_nb.records.register.register import (
    RegisterUnusable,
    append_rows,
    check_chain,
    has_register,
    read_documents,
    read_latest,
    register_path,
)
from vibcal_nb.records.register.register_records import register_record
from vibcal_nb.records.register.register_rows import COLUMNS, FIRST, chain_hash
from vibcal_nb.records.seal.record_content import MIME_TYPE, result_of
from vibcal_nb.records.seal.seal import make_seal
from vibcal_nb.running.commands.cli import main


@pytest.fixture
def register(tmp_path):
    path = register_path(tmp_path)
    assert append_rows(path, [row(i) for i in range(1, 8)]) == 7
    return path


def test_rows_are_read_back_and_the_chain_is_whole(register):
    assert read_latest(register) == [row(i) for i in range(1, 8)]
    assert check_chain(register) == []


def test_the_chain_is_what_it_is_said_to_be(register):
    with closing(sqlite3.connect(register)) as connection:
        previous = FIRST
        for sequence, before, own, *values in connection.execute(
            f"SELECT sequence, previous, hash, {', '.join(COLUMNS)} FROM results ORDER BY sequence"
        ):
            assert before == previous
            assert own == chain_hash(sequence, previous, values)
            previous = own


def test_the_same_record_is_not_entered_twice_and_a_changed_one_is_a_later_row(register):
    assert append_rows(register, [row(3)]) == 0
    changed = row(3, verdict="fail", seal="f" * 64)
    assert append_rows(register, [changed, changed]) == 1
    latest = read_latest(register)
    assert len(latest) == 7
    assert latest[-1] == changed
    assert check_chain(register) == []


@pytest.mark.parametrize("number", [1, 4, 7])
def test_a_removed_row_is_named(register, number):
    tamper(register, ("DELETE FROM results WHERE sequence = ?", (number,)))
    assert f"Row {number} is missing" in check_chain(register)[0].sentence


def test_a_cut_end_is_named_even_after_more_was_appended(register):
    tamper(register, ("DELETE FROM results WHERE sequence >= 6",))
    assert [p.sentence for p in check_chain(register)] == [
        "Rows 6 to 7 are missing: what stood there was removed.",
    ]
    append_rows(register, [row(9)])
    assert check_chain(register)[0].sequence == 6


VALUES = {"margin_pct": 12.25}


@settings(max_examples=60, deadline=None)
@given(number=st.integers(1, 7), column=st.sampled_from(COLUMNS))
def test_any_edit_of_any_row_is_named(tmp_path_factory, number, column):
    path = register_path(tmp_path_factory.mktemp("register"))
    append_rows(path, [row(i) for i in range(1, 8)])
    tamper(path, (f"UPDATE results SET {column} = ? WHERE sequence = ?", (VALUES.get(column, "changed"), number)))
    assert number in [p.sequence for p in check_chain(path)]
    assert "altered" in check_chain(path)[0].sentence


def test_a_row_edited_together_with_its_hash_is_found_at_the_next_row(register):
    values = [getattr(row(4, verdict="fail"), name) for name in COLUMNS]
    with closing(sqlite3.connect(register)) as connection:
        previous = connection.execute("SELECT previous FROM results WHERE sequence = 4").fetchone()[0]
    own = chain_hash(4, previous, values)
    tamper(register, ("UPDATE results SET verdict = 'fail', hash = ? WHERE sequence = 4", (own,)))
    (problem,) = check_chain(register)
    assert problem.sequence == 5
    assert "does not follow" in problem.sentence


def test_two_rows_exchanged_are_named(register):
    tamper(
        register,
        ("UPDATE results SET sequence = 99 WHERE sequence = 2",),
        ("UPDATE results SET sequence = 2 WHERE sequence = 3",),
        ("UPDATE results SET sequence = 3 WHERE sequence = 99",),
    )
    assert {2, 3} <= {p.sequence for p in check_chain(register)}


def test_the_file_itself_refuses_changes(register):
    with closing(sqlite3.connect(register)) as connection:
        for statement in ("DELETE FROM results", "UPDATE results SET verdict = 'pass'"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                connection.execute(statement)


def test_what_is_no_register_is_refused_in_a_sentence(tmp_path):
    with pytest.raises(RegisterUnusable, match="there is no register"):
        read_latest(register_path(tmp_path))
    register_path(tmp_path).write_bytes(b"no database at all, but long enough to be looked at as one" * 20)
    with pytest.raises(RegisterUnusable, match="cannot be used"):
        check_chain(register_path(tmp_path))


WRITER = """
import sys
from pathlib import Path
from tests.support.kept.register import row
from vibcal_nb.records.register.register import append_rows
for i in range(40):
    append_rows(Path(sys.argv[1]), [row(1000 * int(sys.argv[2]) + i)])
"""


def test_several_processes_write_side_by_side(tmp_path):
    path = register_path(tmp_path)
    found = {**os.environ, "PYTHONPATH": ROOT.as_posix()}
    writers = [subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(n)], env=found) for n in range(3)]
    assert [writer.wait(timeout=120) for writer in writers] == [0, 0, 0]
    assert len(read_latest(path)) == 120
    assert check_chain(path) == []


def write_record(folder, number, *, sealed=False, verdict="pass", name="linearity.as-found"):
    entry = {
        "channel": f"V{number}",
        "analysis": "linearity",
        "condition": "as-found",
        "verdict": verdict,
        "statement": f"V{number}: {verdict}.",
        "quantities": [{"frequency_hz": 50.0, "sensitivity": 4.05, "points": [{"row": 2}]}],
        "undetermined": {},
        "summary": {
            **{"asset": "STG-1", "visit": "2026-05-19", "date": "2026-05-19"},
            **{"worst": {"name": "sensitivity at 50 Hz", "margin_pct": 60.0}},
            **{"equipment": [], "sensitivities": [], "set_points": []},
        },
    }
    cell = {"cell_type": "code", "source": "", "outputs": [{"output_type": "display_data", "data": {MIME_TYPE: entry}}]}
    path = folder / "STG-1" / "2026-05-19" / f"V{number}" / f"{name}.ipynb"
    path.parent.mkdir(parents=True, exist_ok=True)
    notebook = {"cells": [cell], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}
    if sealed:
        notebook["metadata"] = {"vibcal_nb": {"seal": make_seal(notebook)}}
    path.write_text(json.dumps(notebook), encoding="utf-8")
    return path, notebook


def test_a_record_becomes_a_row_and_the_register_is_rebuilt_from_records_alone(tmp_path):
    path, _ = write_record(tmp_path, 1)
    assert register_record(tmp_path, path)
    path, notebook = write_record(tmp_path, 2, sealed=True)
    assert register_record(tmp_path, path)
    assert not register_record(tmp_path, path)
    first, second = read_latest(register_path(tmp_path))
    digest = notebook["metadata"]["vibcal_nb"]["seal"]["digest"]
    assert (first.seal_kind, second.seal_kind, second.seal) == ("file", "seal", digest)
    assert (first.margin_pct, json.loads(first.quantities)) == (60.0, [{"frequency_hz": 50.0, "sensitivity": 4.05}])
    failed = tmp_path / "STG-1/2026-05-19/V1/sensor-alone.as-found.failed.ipynb"
    failed.write_text("{}", encoding="utf-8")
    (tmp_path / "STG-1/2026-05-19/V1/notes.ipynb").write_text('{"cells": []}', encoding="utf-8")
    register_path(tmp_path).unlink()
    rebuilt = rebuild_register(tmp_path)
    assert (rebuilt.rows, len(rebuilt.unusable)) == (2, 1)
    assert "holds no result" in rebuilt.unusable[0]
    assert read_latest(register_path(tmp_path)) == [first, second]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["STG-1", "register.sqlite"]


def test_superseded_revisions_come_before_the_one_that_holds(tmp_path):
    """The tenth after the ninth, whatever the alphabet says."""
    for revision in (10, 9, 2):
        name = f"superseded/linearity.as-found.rev{revision}"
        write_record(tmp_path, 1, verdict="fail" if revision % 2 else "conditional pass", name=name + "-2")
    (tmp_path / "STG-1/2026-05-19/V1/superseded").mkdir(exist_ok=True)
    write_record(tmp_path, 1)
    assert rebuild_register(tmp_path).rows == 4
    with closing(sqlite3.connect(register_path(tmp_path))) as connection:
        verdicts = [v for (v,) in connection.execute("SELECT verdict FROM results ORDER BY sequence")]
    assert verdicts == ["conditional pass", "fail", "conditional pass", "pass"]
    assert [r.verdict for r in read_latest(register_path(tmp_path))] == ["pass"]


def test_a_register_in_which_the_results_are_a_view_without_end_is_refused_at_once(register):
    with closing(sqlite3.connect(register)) as file:
        columns = ", ".join(f"'' AS {name}" for name in COLUMNS)
        endless = "WITH RECURSIVE n(sequence) AS (SELECT 1 UNION ALL SELECT sequence + 1 FROM n)"
        file.execute("DROP TABLE results")
        file.execute(f"CREATE VIEW results AS {endless} SELECT sequence, {columns}, '' AS previous, '' AS hash FROM n")
        file.commit()
    for use in (check_chain, read_latest):
        with pytest.raises(RegisterUnusable, match="another layout"):
            use(register)


def test_bytes_in_a_row_are_told_as_altered(register):
    tamper(register, ("UPDATE results SET channel = x'00ff' WHERE sequence = 2",))
    assert [problem.sequence for problem in check_chain(register)] == [2]


@pytest.mark.parametrize("summary", ["[", "null", "[]", '{"date": 5}', '{"date": "2026-05-19"}', "[" * 100_000])
def test_a_row_whose_summary_is_none_is_refused_in_a_sentence(register, summary):
    tamper(register, ("UPDATE results SET summary = ? WHERE sequence = 1", (summary,)))
    with pytest.raises(RegisterUnusable, match=r"make it anew with the command overview --rebuild\."):
        read_site(register.parent)


def test_results_that_follow_from_others_are_not_read_for_the_overview(tmp_path):
    path, rows = register_path(tmp_path), list(register_rows(2, years=(2026,)))
    append_rows(path, rows)
    before = read_site(tmp_path)
    append_rows(path, [replace(row, analysis="drift") for row in rows if row.analysis == "linearity"])
    assert len(before) == len(rows) == len(read_latest(path)) - 2
    assert read_site(tmp_path) == before


_POINT = '{"rotor": "r", "frequency_hz": 50, "set_point": "trip", "level": 18, "max_applied": null, "unit": "mm/s pk"'
_SENSITIVITY = '{"name": "s", "deviation_pct": 1, "u_own_pct": 1, "nu_own": null, "shared_pct": {}, "tolerance_pct": 5}'


def _summary(*, points="", sensitivities=""):
    head = '"asset": "STG-1", "visit": "2026-05-19", "date": "2026-05-19", "equipment": []'
    return f'{{{head}, "sensitivities": [{sensitivities}], "set_points": [{points}]}}'


def test_what_else_a_summary_holds_is_passed_over_and_what_lacks_is_refused(register):
    """Whoever writes a row gives it the hash that it must have: the form of a summary is all that protects."""

    def read(summary):
        tamper(register, ("UPDATE results SET summary = ? WHERE sequence = 1", (summary,)))
        return read_site(register.parent)

    (result,) = read(_summary(points=_POINT + ', "-Infinity": "x"}', sensitivities=_SENSITIVITY))
    assert (result.set_points[0].set_point, result.set_points[0].level) == ("trip", 18)
    for lacking in (
        _summary(points=_POINT.replace('"max_applied": null, ', "") + "}"),
        _summary(sensitivities=_SENSITIVITY.replace('"nu_own": null, ', "")),
        _summary(sensitivities=_SENSITIVITY.replace(', "tolerance_pct": 5', "")),
    ):
        with pytest.raises(RegisterUnusable, match="not in the form of this version"):
            read(lacking)


def test_bytes_that_are_no_text_are_shown_as_what_they_are(register):
    tamper(register, ("UPDATE results SET verdict = CAST(x'7373401bc3285250' AS TEXT) WHERE sequence = 1",))
    with pytest.raises(RegisterUnusable) as caught:
        read_latest(register)
    assert str(caught.value).isprintable() and "Could not decode to UTF-8" in str(caught.value)


def test_a_layout_that_is_no_text_is_refused(register):
    """SQLite's own message names what it cannot read, in bytes that Python cannot decode."""
    with closing(sqlite3.connect(register)) as connection, connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(
            "UPDATE sqlite_master SET name = CAST(x'c5c5' AS TEXT), sql = 'CREATE x' WHERE name = 'results'"
        )
    for look in (check_chain, read_latest):
        with pytest.raises(RegisterUnusable) as caught:
            look(register)
        assert str(caught.value).isprintable()


@pytest.mark.parametrize("months", [float("nan"), float("inf"), 0.0, -1.0, 1e300])
def test_an_interval_that_is_none_is_refused(register, months):
    with pytest.raises(ParameterError, match="interval_months"):
        overview_of_folder(register.parent, on=date(2026, 6, 1), interval_months=months)


def test_one_record_that_is_none_does_not_keep_the_others_from_the_register(tmp_path):
    good, bad = (make_records(tmp_path / name) for name in ("good", "bad"))
    reseal(bad, lambda content: result_of(content).update(verdict={"a": 1}))
    shutil.copy(bad, good.with_name("other.as-found.ipynb"))
    rebuilt = rebuild_register(tmp_path / "good" / "records")
    assert rebuilt.rows == 1
    assert [said.split(": ")[1] for said in rebuilt.unusable] == [
        "its result is not in the form that this version gives it"
    ]


def test_a_rebuild_sets_the_register_before_aside_and_says_what_is_gone(tmp_path):
    root = make_records(tmp_path).parents[3]
    before = read_latest(register_path(root))
    append_rows(register_path(root), [row(9)])
    rebuilt = rebuild_register(root)
    (said,) = rebuilt.lost
    assert said.startswith("STG-1/2026-05-19/V9/linearity.as-found.ipynb: STG-1 2026-05-19 V9 linearity as-found was")
    assert set_aside_registers(root) == [rebuilt.aside]
    assert [item.channel for item in read_latest(rebuilt.aside)] == ["STG-1-V11", "V9"]
    assert read_latest(register_path(root)) == before
    assert check_chain(register_path(root)) == check_chain(rebuilt.aside) == []
    assert rebuild_register(root).lost == ()
    assert len(set_aside_registers(root)) == 2


def test_what_is_appended_while_a_register_is_made_anew_is_not_lost(tmp_path, monkeypatch):
    root = make_records(tmp_path).parents[3]
    list_rows = rebuild.list_rows

    def meanwhile(records, unusable):
        yield from list_rows(records, unusable)
        append_rows(register_path(root), [row(9)])

    monkeypatch.setattr(rebuild, "list_rows", meanwhile)
    assert rebuild_register(root).lost == ()
    assert [item.channel for item in read_latest(register_path(root))] == ["STG-1-V11", "V9"]


def test_an_overview_of_a_folder_of_readings_is_refused_and_writes_nothing(tmp_path, capsys):
    build_site(tmp_path, linearity_rows())
    before = sorted(tmp_path.rglob("*"))
    assert main(["overview", str(tmp_path)]) == 2
    assert "there are no records here" in capsys.readouterr().err
    assert sorted(tmp_path.rglob("*")) == before


def test_a_register_without_a_byte_is_none(tmp_path):
    """As an interruption leaves it before its first."""
    register_path(tmp_path).touch()
    assert not has_register(register_path(tmp_path))
    with pytest.raises(RegisterUnusable, match="there is no register"):
        read_latest(register_path(tmp_path))


def test_a_register_that_cannot_be_used_is_kept_beside_the_new_one(tmp_path):
    root = make_records(tmp_path).parents[3]
    register_path(root).write_bytes(b"no register at all" * 100)
    rebuilt = rebuild_register(root)
    assert rebuilt.rows == 1
    assert rebuilt.aside.read_bytes() == b"no register at all" * 100
    assert "cannot be read" in rebuilt.lost[0]
    assert [item.channel for item in read_latest(register_path(root))] == ["STG-1-V11"]


def test_a_writer_finds_the_register_that_took_its_files_place(tmp_path, monkeypatch):
    """It opened the file before, and would append to one that nobody looks at any more."""
    path = register_path(tmp_path)
    append_rows(path, [row(1)])
    append_row, swapped = module.append_row, []

    def swap(connection, item):
        if not swapped:
            swapped.append(path.rename(tmp_path / "old.sqlite"))
            append_rows(path, [row(2)])
        return append_row(connection, item)

    monkeypatch.setattr(module, "append_row", swap)
    append_rows(path, [row(3)])
    assert [item.channel for item in read_latest(path)] == ["V2", "V3"]


def test_a_register_of_the_first_schema_is_read_and_raised_when_it_is_written(register):
    with closing(sqlite3.connect(register)) as connection:
        connection.executescript("DROP TABLE documents; PRAGMA user_version = 1;")
    assert len(read_latest(register)) == 7
    assert read_documents(register) == []
    assert check_chain(register) == []
    document = Document(kind="sign-off", place="a", seal="b", sha256="c", said="d")
    append_rows(register, [row(9)], [document, document])
    assert read_documents(register) == [document]
    assert check_chain(register) == []


def test_a_document_that_was_altered_or_removed_is_named(register):
    documents = [Document(kind="sign-off", place=str(i), seal="b", sha256=str(i), said="d") for i in range(3)]
    append_rows(register, [], documents)
    with closing(sqlite3.connect(register)) as connection, connection:
        connection.execute("DROP TRIGGER documents_no_update")
        connection.execute("DROP TRIGGER documents_no_delete")
        connection.execute("UPDATE documents SET said = 'e' WHERE sequence = 2")
    assert (
        check_chain(register)[0].sentence
        == "Row 2 of the documents (sign-off 1) is not what was written: it was altered."
    )
    with closing(sqlite3.connect(register)) as connection, connection:
        connection.execute("DELETE FROM documents WHERE sequence = 3")
    assert "Row 3 of the documents is missing" in check_chain(register)[-1].sentence
