"""A reading is in the visit's table before it is acknowledged, whoever stops the program or writes beside it."""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from itertools import count

import numpy as np
import pytest

from tests.support.readings.entering import Clock, new_visit, row, table_of
from tests.support.running.kill_points import Stopped, disk_that_stops
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.entry import open_table
from vibcal_nb.records.entry.keys import key_of
from vibcal_nb.records.entry.merge import keys_in
from vibcal_nb.records.entry.open_table import needs_converting, open_elsewhere, put_into_csv
from vibcal_nb.records.entry.table_text import read_table_text
from vibcal_nb.records.entry.visit_table import VisitTable


def keys_on_disk(visit):
    return keys_in(read_table_text((visit / "readings.csv").read_bytes(), columns={}, file="readings.csv"))


def test_a_reading_is_in_the_contracts_table_and_reads_back(tmp_path):
    visit = new_visit(tmp_path)
    table = table_of(visit)
    assert table.enter(row("4.96", "19.620")).row == 2
    (reading,) = load_visit(visit).table.readings
    assert (reading.output, reading.output_decimals, reading.applied_decimals) == (19.62, 3, 2)


def test_what_is_no_reading_is_refused_and_kept_nowhere(tmp_path):
    table = table_of(new_visit(tmp_path))
    before = table.journal.path.read_bytes()
    with pytest.raises(InputRefused, match="column output"):
        table.enter(row("4.96", "-3"))
    assert table.journal.path.read_bytes() == before
    assert not table.path.exists()


def test_the_same_reading_again_is_numbered(tmp_path):
    visit = new_visit(tmp_path)
    table = table_of(visit)
    assert [table.enter(row("4.96", "19.62")).row for _ in range(3)] == [2, 3, 4]
    assert [reading.repeat for reading in load_visit(visit).table.readings] == [None, 2, 3]


def test_a_reason_goes_into_its_row_and_comes_out_again(tmp_path):
    visit = new_visit(tmp_path)
    table = table_of(visit)
    table.enter(row("4.96", "19.62"))
    table.change(2, "exclude", "cable touched")
    assert load_visit(visit).table.readings[0].exclude == "cable touched"
    table.change(2, "exclude", "")
    assert load_visit(visit).table.readings[0].exclude is None


@pytest.mark.parametrize("stop_at", range(1, 16))
def test_stopped_at_any_operation_of_the_disk_no_acknowledged_reading_is_lost(tmp_path, stop_at):
    visit = new_visit(tmp_path)
    acknowledged = []
    with disk_that_stops(visit, stop_at):
        try:
            table = table_of(visit)
            for level in range(1, 9):
                table.enter(row(level, 4 * level))
                acknowledged.append(key_of(row(level, 4 * level)))
        except Stopped:
            pass
    on_disk = keys_on_disk(visit) if (visit / "readings.csv").exists() else frozenset()
    assert set(acknowledged) <= on_disk
    again = table_of(visit)
    again.settle()
    found = keys_on_disk(visit) if again.path.exists() else frozenset()
    assert set(acknowledged) <= found
    assert len(found) <= len(acknowledged) + 1


def _enter_for_ever(visit, asset, wire, first):
    table = VisitTable(visit, asset=asset, columns={}, now=Clock())
    for number in count(first):
        cells = row(number / 8, number / 2)
        table.enter(cells)
        os.write(wire, json.dumps(list(key_of(cells))).encode() + b"\n")


@pytest.mark.skipif(sys.platform == "win32", reason="no signal there ends a process at once as SIGKILL does")
@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of a fork beside threads: the child does no more than write
def test_fifty_kills_at_random_moments_lose_no_acknowledged_reading(tmp_path, monkeypatch):
    monkeypatch.setattr(open_table, "_LOOK_SECONDS", 0.001)  # nobody else writes here
    visit = new_visit(tmp_path)
    asset = load_asset_folder(visit.parent).asset
    generator = np.random.default_rng(50)
    acknowledged: set = set()
    for kill in range(50):
        wire, end = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                os.close(wire)
                _enter_for_ever(visit, asset, end, 1 + 100 * kill)
            finally:
                os._exit(1)
        os.close(end)
        with os.fdopen(wire, "rb") as told:
            first = told.readline() if kill % 5 else b""  # every fifth is killed while it starts
            time.sleep(float(generator.uniform(0.0, 0.05)))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            lines = (first + told.read()).split(b"\n")
        acknowledged |= {tuple(json.loads(line)) for line in lines[:-1]}
        assert acknowledged <= (keys_on_disk(visit) if acknowledged else frozenset())
    assert len(acknowledged) >= 40
    table_of(visit).settle()
    assert acknowledged <= keys_on_disk(visit)
    assert len(load_visit(visit).table.readings) <= len(acknowledged) + 50


def test_a_spreadsheet_that_saves_an_older_table_is_told_of_and_merged(tmp_path):
    visit = new_visit(tmp_path)
    table = table_of(visit)
    table.enter(row("1", "4"))
    older = table.path.read_bytes()
    table.enter(row("2", "8"))
    table.path.write_bytes(older.replace(b",4,mV", b",4.2,mV"))
    kept = table.settle()
    assert [(r.applied, r.output) for r in load_visit(visit).table.readings] == [(1.0, 4.2), (2.0, 8.0)]
    assert any("lacked 1 reading" in sentence for sentence in kept.told)
    assert any("1 row of readings.csv changed in another program" in sentence for sentence in kept.told)


def test_a_table_that_cannot_be_read_keeps_the_reading_in_the_journal_until_it_can(tmp_path):
    visit = new_visit(tmp_path)
    table = table_of(visit)
    table.enter(row("1", "4"))
    whole = table.path.read_bytes()
    table.path.write_bytes(b"\n\n")
    kept = table.enter(row("2", "8"))
    assert kept.row is None
    assert "kept in readings.journal" in kept.told[0]
    table.path.write_bytes(whole)
    table.settle()
    assert [reading.applied for reading in load_visit(visit).table.readings] == [1.0, 2.0]


def test_two_programs_at_one_visit_write_one_table_and_are_told_of_each_other(tmp_path):
    visit = new_visit(tmp_path)
    one, other = table_of(visit), table_of(visit)
    one.enter(row("1", "4"))
    other.enter(row("2", "8"))
    one.enter(row("3", "12"))
    assert [reading.applied for reading in load_visit(visit).table.readings] == [1.0, 2.0, 3.0]
    (seen,) = one.others()
    assert "another window of this machine (Technician A) is entering into this visit" in seen.sentence
    other.close()
    assert one.others() == ()


def test_a_journal_that_was_cut_off_counts_up_to_there_and_one_that_lies_counts_nothing(tmp_path):
    visit = new_visit(tmp_path)
    table = table_of(visit)
    table.enter(row("1", "4"))
    table.enter(row("2", "8"))
    table.close()
    whole = table.journal.path.read_bytes()
    table.journal.path.write_bytes(whole[: whole.rindex(b'"row"')] + b"\n00000000 {}\n")
    table.path.unlink()
    again = table_of(visit)
    again.settle()
    assert [reading.applied for reading in load_visit(visit).table.readings] == [1.0]


def test_an_open_spreadsheet_is_named(tmp_path):
    path = tmp_path / "readings.csv"
    assert open_elsewhere(path) is None
    (tmp_path / ".~lock.readings.csv#").write_text(",technician,bench-2,30.11.2026 08:00,file;", encoding="utf-8")
    assert "open in a spreadsheet (bench-2)" in (open_elsewhere(path) or "")


def test_a_workbook_is_put_into_csv_and_stays_beside(tmp_path):
    import openpyxl

    visit = new_visit(tmp_path)
    book = openpyxl.Workbook()
    for cells in (tuple(row("1", "4")), tuple(row(1.0, 4.0).values())):
        book.active.append(cells)
    book.save(visit / "readings.xlsx")
    workbook = needs_converting(visit)
    assert workbook is not None
    assert put_into_csv(workbook).name == "readings.prepared.xlsx"
    assert [reading.output for reading in load_visit(visit).table.readings] == [4.0]
