"""Old tables by their layouts: every number is a reading, or named as left out with the reason."""

from __future__ import annotations

import csv
from datetime import date

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import SHORT
from tests.support.sites.old_workbooks import ALL, ASSET, BAND_HZ, GAIN, LEVELS, SHAPE, logger_text, sheet_a_channel
from tests.support.sites.plants import VISIT, build_site
from vibcal_nb.inputs.asset.read_asset import read_asset
from vibcal_nb.inputs.grids.grid import Cell
from vibcal_nb.inputs.grids.read_grids import read_grids
from vibcal_nb.inputs.layout.account import account_for
from vibcal_nb.inputs.layout.day import DayUnclear, read_day
from vibcal_nb.inputs.layout.laid_out import looks_like_number
from vibcal_nb.inputs.layout.read_layout import read_layout_file
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.inputs.read_laid_out import read_laid_out
from vibcal_nb.problems import InputRefused


def layout_of(text, folder):
    problems = []
    path = folder / "old.toml"
    path.write_text(text, encoding="utf-8")
    layout = read_layout_file(path, problems)
    return layout, [problem.sentence for problem in problems]


def asset_of(folder):
    (folder / "asset.toml").write_text(ASSET, encoding="utf-8")
    problems = []
    history = read_asset(folder / "asset.toml", problems, kinds={})
    assert not problems, problems[0].sentence
    return history.on(date(2026, 5, 19))


def read(old, folder):
    layout, said = layout_of(old.layout, folder)
    assert said == []
    problems = []
    found = read_laid_out(old.path, problems, asset=asset_of(folder), layout=layout)
    return found, layout, [problem.sentence for problem in problems]


@pytest.mark.parametrize("make", ALL)
def test_every_number_of_an_old_table_is_a_reading_or_left_out_with_a_reason(make, tmp_path):
    old = make(tmp_path)
    found, layout, said = read(old, tmp_path)
    assert said == []
    assert len(found.table.readings) == old.readings
    account = account_for(found.grids, found.laid, layout)
    numbers = {
        (g.name, row, column) for g in found.grids for row, column, cell in g.filled() if looks_like_number(cell)
    }
    assert len(numbers) == sum(
        looks_like_number(grid.at(row, column)) and (grid.name, f"{'ABCDEFGH'[column]}{row}") in account.used
        for grid in found.grids
        for row, column, _ in grid.filled()
    ) + len(account.numbers_left_out)
    assert all(item.why for item in account.left_out)
    reasons = {item.address: item.why for item in account.left_out if item.sheet in ("V11", "May", "", "Blatt1")}
    for place, why in old.left_out.items():
        assert reasons[place] == why


@pytest.mark.parametrize("make", ALL)
def test_the_readings_are_the_numbers_of_the_table(make, tmp_path):
    found, _, _ = read(make(tmp_path), tmp_path)
    for reading in found.table.readings:
        shape = SHAPE[round(reading.frequency_hz)] if reading.test == "band-response" else 1.0
        factor = 1.004 if reading.frequency_hz > 100 and reading.test == "linearity" else 1.0
        assert reading.output == pytest.approx(GAIN[reading.channel] * reading.applied * shape * factor, abs=0.006)
        assert (reading.applied_unit.text, reading.output_unit.text) == ("mm/s pk", "mV pk")


def test_sheets_parts_cells_and_words_are_followed(tmp_path):
    found, _, _ = read(sheet_a_channel(tmp_path), tmp_path)
    by_test = {}
    for reading in found.table.readings:
        by_test.setdefault((reading.channel, reading.test, reading.condition), []).append(reading)
    assert {key: len(rows) for key, rows in by_test.items()} == {
        (tag, test, "as-found"): count
        for tag in GAIN
        for test, count in (("linearity", len(LEVELS)), ("band-response", len(BAND_HZ)))
    }
    rows = [reading.row for reading in found.table.readings]
    assert rows == list(range(2, 2 + len(rows)))  # numbered through: rows of two sheets would be the same
    assert found.table.readings[0].note == "V11 B8"


def test_remarks_in_the_margin_become_notes(tmp_path):
    found, _, _ = read(sheet_a_channel(tmp_path), tmp_path)
    (noted,) = [r for r in found.table.readings if r.channel == "STG-1-V11" and "crane" in (r.note or "")]
    assert (noted.applied, noted.note) == (15.0, "reading unsteady, crane passing; V11 B12")


def test_the_loggers_rows_keep_their_numbers_and_their_digits(tmp_path):
    found, _, _ = read(logger_text(tmp_path), tmp_path)
    assert [reading.row for reading in found.table.readings] == [7, 8, 9, 10, 11]
    assert found.table.readings[0].output_decimals == 2
    assert found.table.readings[2].note == "instabil"


def test_a_column_with_numbers_that_no_entry_names_is_a_problem(tmp_path):
    old = logger_text(tmp_path)
    layout = old.layout.replace('ignore = { "Nr." = "a running number" }\n', "")
    found, _, said = read(type(old)(old.path, layout, 0, {}), tmp_path)
    assert found.table is None
    assert said == [
        "logger.csv, row 6, column Nr.: found numbers below 'Nr.', which the layout does not name; "
        "name it under columns, stated, wide or ignore."
    ]


def test_headings_and_sheets_that_are_not_there_are_named_with_the_nearest(tmp_path):
    old = sheet_a_channel(tmp_path)
    layout = old.layout.replace(
        'Level = "applied", Output = "output" }\nconstants = { test = "linearity"',
        'Levell = "applied", Output = "output" }\nconstants = { test = "linearity"',
    )
    _, _, said = read(type(old)(old.path, layout, 0, {}), tmp_path)
    assert any("sheet V11, row 6: found no heading 'Levell'; did you mean 'Level'" in sentence for sentence in said)
    _, _, said = read(type(old)(old.path, old.layout.replace('"V12"]', '"V13"]'), 0, {}), tmp_path)
    assert any("found no sheet 'V13'; did you mean 'V1" in sentence for sentence in said)


def test_a_frequency_in_rpm_is_not_taken_for_hertz(tmp_path):
    old = sheet_a_channel(tmp_path)
    book = openpyxl.load_workbook(old.path)
    book["V12"]["A17"] = "rpm"
    book.save(old.path)
    _, _, said = read(old, tmp_path)
    assert said == [
        "old sheets.xlsx, sheet V12, row 16, column Freq.: found the unit 'rpm' below what is taken for frequency_hz; "
        "take it for frequency_rpm."
    ]


def test_a_wrong_cell_is_named_with_its_sheet_and_row(tmp_path):
    old = logger_text(tmp_path)
    text = old.path.read_bytes().decode("windows-1252").replace(";20,10;", ";20.1.0;")
    old.path.write_bytes(text.encode("windows-1252"))
    _, _, said = read(old, tmp_path)
    assert said == ["logger.csv, row 9, column output: found '20.1.0'; give a number such as 12.5."]


def test_wrong_entries_of_a_layout_are_told_one_by_one_and_the_rest_is_used(tmp_path):
    text = """
[table]
headings_row = "six"
decimal = "."
columns = { Level = "aplied", Output = "output", "@7" = "applied" }
cells = { condition = "3B" }
values = { tst = { lin = "linearity" } }
fill_down = ["freq"]
wide = { column = "channel" }
rows = 3
"""
    layout, said = layout_of(text, tmp_path)
    assert len(said) == 8
    assert "key table.columns.Level: found 'aplied'; did you mean 'applied'" in said[1]
    assert layout.parts[0].columns == {"Output": "output"}
    assert layout.decimal == "."


def test_a_visit_reads_its_table_by_its_own_layout(tmp_path):
    """[table] in visit.toml; every row is checked as ever, and analysed as ever."""
    rows = ["# no headings here", "Level,Out,Check", "mm/s pk,mV pk,-", *(f"{x},{4.05 * x:.3f},ok" for x in LEVELS)]
    table = """
[table]
headings_row = 2
units_row = 3
columns = { Level = "applied", Out = "output", Check = "note" }
constants = { channel = "STG-1-V11", test = "linearity", condition = "as-found", frequency_hz = "50" }
"""
    home = build_site(tmp_path, rows[1:], visit=VISIT + table, headings=rows[0])
    table = load_visit(home).table
    assert [(r.row, r.applied, r.note) for r in table.readings] == [(4 + i, x, "ok") for i, x in enumerate(LEVELS)]


def test_a_layout_file_that_many_visits_share_lies_within_the_site(tmp_path):
    rows = [f"{x},{4.05 * x:.3f}" for x in LEVELS]
    text = """
[table]
columns = { Level = "applied", Out = "output" }
[table.constants]
channel = "STG-1-V11"
test = "linearity"
condition = "as-found"
frequency_hz = "50"
applied_unit = "mm/s pk"
output_unit = "mV pk"
"""
    site = tmp_path / "site"
    home = build_site(site, rows, visit=VISIT + 'layout = "../../old.toml"\n', headings="Level,Out")
    (site / "old.toml").write_text(text, encoding="utf-8")
    assert len(load_visit(home).table.readings) == len(LEVELS)
    (tmp_path / "old.toml").write_text(text, encoding="utf-8")
    home = build_site(site, rows, visit=VISIT + 'layout = "../../../old.toml"\n', headings="Level,Out")
    with pytest.raises(InputRefused) as refused:
        load_visit(home)
    assert "key layout: found '../../../old.toml'; name a layout file" in str(refused.value)


def test_one_wrong_entry_of_columns_does_not_throw_the_others_away(tmp_path):
    headings = "Kanal,Pruefung,Zustand,Freq,applied,applied_unit,output,output_unit,direction,repeat,exclude,note"
    columns = '[columns]\nKanal = "channel"\nPruefung = "tset"\nZustand = "condition"\n"frequency_hz" = "Freq"\n'
    rows = ["STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mV pk,,,,"]
    with pytest.raises(InputRefused) as refused:
        load_visit(build_site(tmp_path, rows, visit=VISIT + columns, headings=headings))
    said = [problem.sentence for problem in refused.value.problems]
    assert [sentence.split(": found")[0] for sentence in said] == [
        "STG-1/2026-05-19/readings.csv, row 1, column Freq",
        "STG-1/2026-05-19/visit.toml, key columns.Pruefung",
        "STG-1/2026-05-19/visit.toml, key columns.frequency_hz",
    ]
    assert "write the heading of the table on the left: 'Freq' = 'frequency_hz'" in said[2]


@pytest.mark.parametrize(
    ("cell", "form", "day"),
    [
        (Cell("46161", "number", 46161.0), None, date(2026, 5, 19)),
        (Cell("2026-05-19", "date"), None, date(2026, 5, 19)),
        (Cell("19.05.2026"), None, date(2026, 5, 19)),
        (Cell("Datum: 19. 5. 26"), None, date(2026, 5, 19)),
        (Cell("05/19/2026"), None, date(2026, 5, 19)),
        (Cell("2026/5/9"), None, date(2026, 5, 9)),
        (Cell("05/06/2026"), "day-month-year", date(2026, 6, 5)),
        (Cell("05/06/2026"), "month-day-year", date(2026, 5, 6)),
    ],
)
def test_days_are_read_however_they_are_written(cell, form, day):
    assert read_day(cell, form) == day


def test_a_day_that_could_be_two_days_is_not_guessed():
    with pytest.raises(DayUnclear, match="whether the day or the month stands first"):
        read_day(Cell("05/06/2026"))
    with pytest.raises(DayUnclear, match="give a cell with a day"):
        read_day(Cell("May"))


@SHORT
@given(st.dates(min_value=date(1955, 1, 1), max_value=date(2100, 1, 1)))
def test_a_serial_number_is_the_day_that_openpyxl_says(day):
    from openpyxl.utils.datetime import to_excel

    serial = float(to_excel(day))
    assert read_day(Cell(str(serial), "number", serial)) == day


@SHORT
@given(
    st.lists(st.tuples(st.floats(0.1, 99.0), st.floats(0.1, 400.0)), min_size=1, max_size=20), st.sampled_from(";\t")
)
def test_what_was_typed_comes_back_to_the_last_digit(tmp_path_factory, rows, separator):
    folder = tmp_path_factory.mktemp("typed")
    path = folder / "a.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=separator)
        writer.writerows([["x", ""], ["Level", "Out"]])
        writer.writerows([[f"{x:.3f}".replace(".", ","), f"{y:.2f}".replace(".", ",")] for x, y in rows])
    (grid,) = read_grids(path, [])
    layout, _ = layout_of(
        '[table]\nheadings_row = 2\ndecimal = ","\ncolumns = { Level = "applied", Out = "output" }\n', folder
    )
    from vibcal_nb.inputs.layout.lay_out import lay_out

    laid = lay_out(path, [grid], layout, [])
    assert [(row.cells["applied"], row.cells["output"]) for row in laid.rows] == [
        (f"{x:.3f}", f"{y:.2f}") for x, y in rows
    ]
