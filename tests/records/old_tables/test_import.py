"""Old tables into a visit: shown first, then written, read back to the last digit, and held against what they state."""

from __future__ import annotations

import re
from dataclasses import replace

import openpyxl
import pytest

from tests.support.running.programs import call, everything_below
from tests.support.sites.old_workbooks import ALL, ASSET, levels_in_columns, logger_text, sheet_a_channel, side_by_side
from tests.support.sites.plants import EQUIPMENT, VISIT
from vibcal_nb.inputs.layout.read_layout import read_layout_file
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.old_tables.bring import bring


@pytest.fixture
def visit(tmp_path):
    home = tmp_path / "site" / "STG-1" / "2026-05-19"
    home.mkdir(parents=True)
    (home / "visit.toml").write_text(VISIT, encoding="utf-8")
    (home.parent / "asset.toml").write_text(ASSET, encoding="utf-8")
    (home.parent.parent / "equipment.toml").write_text(EQUIPMENT, encoding="utf-8")
    return home


def write_layout(old, folder):
    path = folder / f"{old.path.stem}.toml"
    path.write_text(old.layout, encoding="utf-8")
    return path


def brought_from(old, visit, folder):
    layout = read_layout_file(write_layout(old, folder), [])
    asset = load_asset_folder(visit.parent).asset
    return bring([old.path], layout, asset=asset, day=load_visit_day(visit))


def load_visit_day(visit):
    from vibcal_nb.inputs.load_asset import load_visit_file

    return load_visit_file(visit).date


@pytest.mark.parametrize("make", ALL)
def test_an_old_table_is_shown_first_and_written_when_asked_for(make, visit, tmp_path):
    old = make(tmp_path)
    layout = write_layout(old, tmp_path)
    before = everything_below(tmp_path)
    shown = call("import", old.path, "--layout", layout, "--visit", visit, cwd=tmp_path)
    assert (shown.returncode, shown.stderr) == (0, "")
    assert f"{old.path.name}" in shown.stdout
    assert "Nothing was written; add --write" in shown.stdout
    assert everything_below(tmp_path) == before
    done = call("import", old.path, "--layout", layout, "--visit", visit, "--write", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    table = load_visit(visit).table
    assert len(table.readings) == old.readings
    brought = brought_from(old, visit, tmp_path)
    assert [replace(r, note=None) for r in table.readings] == [
        replace(r, note=None, applied_decimals=t.applied_decimals, output_decimals=t.output_decimals)
        for r, t in zip(brought.readings, table.readings, strict=True)
    ]
    assert all(old.path.name in reading.note for reading in table.readings)
    text = (visit / "readings.csv").read_text(encoding="utf-8")
    assert re.match(rf"# from {re.escape(old.path.name)}, SHA-256 [0-9a-f]{{64}}\n# read by the layout ", text)


def test_a_table_that_is_there_is_not_overwritten(visit, tmp_path):
    old = logger_text(tmp_path)
    (visit / "readings.csv").write_text("kept", encoding="utf-8")
    done = call("import", old.path, "--layout", write_layout(old, tmp_path), "--visit", visit, "--write", cwd=tmp_path)
    assert done.returncode != 0
    assert "is there already and is not overwritten" in done.stderr
    assert (visit / "readings.csv").read_text(encoding="utf-8") == "kept"


def test_several_files_of_one_form_make_one_table(visit, tmp_path):
    one = logger_text(tmp_path)
    other = one.path.with_name("logger 2.csv")
    text = one.path.read_bytes().decode("windows-1252").replace("V11", "V12").replace(";20,10;", ";20,11;")
    other.write_bytes(text.encode("windows-1252"))
    one = replace(one, layout=one.layout.replace('V11 = "STG-1-V11"', 'V11 = "STG-1-V11", V12 = "STG-1-V12"'))
    done = call(
        "import", one.path, other, "--layout", write_layout(one, tmp_path), "--visit", visit, "--write", cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    table = load_visit(visit).table
    assert [reading.row for reading in table.readings] == list(range(5, 15))
    assert {reading.channel for reading in table.readings} == {"STG-1-V11", "STG-1-V12"}


def test_a_wrong_number_writes_nothing_and_is_named_with_its_cell(visit, tmp_path):
    old = logger_text(tmp_path)
    text = old.path.read_bytes().decode("windows-1252").replace(";20,10;", ";2o,10;")
    old.path.write_bytes(text.encode("windows-1252"))
    done = call("import", old.path, "--layout", write_layout(old, tmp_path), "--visit", visit, "--write", cwd=tmp_path)
    assert done.returncode == 2
    assert "logger.csv, row 9, column output: found '2o,10'; give a number with a decimal point" in done.stderr
    assert not (visit / "readings.csv").exists()


def test_without_a_layout_one_is_proposed_and_nothing_is_read(visit, tmp_path):
    old = side_by_side(tmp_path)
    shown = call("import", old.path, "--visit", visit, cwd=tmp_path)
    assert shown.returncode == 0
    assert 'V11 = "STG-1-V11"' in shown.stdout or '"V11" = "STG-1-V11"' in shown.stdout
    done = call("import", old.path, "--visit", visit, "--propose", tmp_path / "new.toml", cwd=tmp_path)
    assert done.returncode == 0
    assert "2 things are to be stated in it" in done.stdout
    assert "applied_unit as mm/s pk, mm/s rms" in (tmp_path / "new.toml").read_text(encoding="utf-8")
    again = call("import", old.path, "--propose", tmp_path / "new.toml", cwd=tmp_path)
    assert again.returncode == 2
    assert "is not overwritten" in again.stderr
    refused = call("import", old.path, "--visit", visit, "--layout", tmp_path / "new.toml", "--write", cwd=tmp_path)
    assert refused.returncode == 2
    assert "found 'mm/s'; give the detector too" in refused.stderr
    assert not (visit / "readings.csv").exists()


def test_deviations_that_the_table_states_are_worked_out_again(visit, tmp_path):
    brought = brought_from(sheet_a_channel(tmp_path), visit, tmp_path)
    assert (brought.compared.count, brought.compared.agree) == (10, 10)
    assert brought.questions == ()


def test_a_stated_deviation_that_its_reading_does_not_give_is_asked_about(visit, tmp_path):
    old = logger_text(tmp_path)
    text = old.path.read_bytes().decode("windows-1252").replace(";20,10;0,5;", ";20,10;5,0;")
    old.path.write_bytes(text.encode("windows-1252"))
    (question,) = brought_from(old, visit, tmp_path).questions
    assert "the table states deviation_pct 5.0 %; its reading gives 0.5 %" in question.sentence


def test_deviations_from_another_nominal_sensitivity_are_one_question_that_names_it(visit, tmp_path):
    asset = visit.parent / "asset.toml"
    asset.write_text(ASSET.replace("nominal_sensitivity = 4.0", "nominal_sensitivity = 4.2"), encoding="utf-8")
    questions = [q.text for q in brought_from(sheet_a_channel(tmp_path), visit, tmp_path).questions]
    stated = [text for text in questions if "deviations in the table" in text]
    assert len(stated) == 2
    assert all("from a nominal sensitivity of 4, and the channel states 4.2" in text for text in stated)


def test_a_table_of_another_day_is_asked_about(visit, tmp_path):
    old = levels_in_columns(tmp_path)
    (visit / "visit.toml").write_text(VISIT.replace("2026-05-19", "2026-09-15"), encoding="utf-8")
    questions = [q.sentence for q in brought_from(old, visit, tmp_path).questions]
    assert questions == [
        "levels.ods: the table is of 2026-05-19, and the visit of 2026-09-15. Is this the right visit?"
    ]


def test_slips_of_writing_in_an_old_table_are_asked_about(visit, tmp_path):
    old = sheet_a_channel(tmp_path)
    book = openpyxl.load_workbook(old.path)
    book["V11"]["B10"] = 201.0
    book.save(old.path)
    questions = [q.text for q in brought_from(old, visit, tmp_path).questions]
    assert any("the output 201 mV pk is 10 times" in text for text in questions)
