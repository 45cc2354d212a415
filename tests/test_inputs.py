"""What people put into the folders is read in every form they write it, or refused in plain sentences."""

from __future__ import annotations

from dataclasses import replace

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.plants import ASSET, EQUIPMENT, HEADINGS, VISIT, build_site, linearity_rows
from vibcal_nb.inputs.folder import find_visits, load_visit
from vibcal_nb.inputs.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.problems import InputRefused
from vibcal_nb.inputs.tags import is_safe_tag

ROWS = linearity_rows()


def refusal(folder) -> list[str]:
    with pytest.raises(InputRefused) as caught:
        load_visit(folder)
    return str(caught.value).splitlines()


def test_a_good_folder_is_read(tmp_path):
    visit = load_visit(build_site(tmp_path, ROWS))
    assert [r.applied for r in visit.table.readings] == [2.01, 5.02, 10.03, 15.01, 20.01]
    assert visit.table.readings[0].row == 2
    assert visit.asset.channels["STG-1-V11"].rotors[0].speed_hz == 50.0
    assert visit.references[0].id == "REF-1"


def test_ten_mistakes_give_ten_sentences(tmp_path):
    rows = [
        "STG-1-V1,linearity,as-found,50,2,mm/s pk,8,mV pk,,,,",
        "STG-1-V11,linearty,as-found,50,2,mm/s pk,8,mV pk,,,,",
        "STG-1-V11,linearity,found,50,2,mm/s pk,8,mV pk,,,,",
        "STG-1-V11,linearity,as-found,-50,2,mm/s pk,8,mV pk,,,,",
        'STG-1-V11,linearity,as-found,50,"1,234.5",mm/s pk,8,mV pk,,,,',
        "STG-1-V11,linearity,as-found,50,2,mm/s,8,mV pk,,,,",
        "STG-1-V11,linearity,as-found,50,2,mm/s pk,1e400,mV pk,,,,",
        "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mA dc,,,,",
        "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mV pk,sideways,,,",
        "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mV pk,,0.5,,",
    ]
    columns = [
        "channel",
        "test",
        "condition",
        "frequency_hz",
        "applied",
        "applied_unit",
        "output",
        "output_unit",
        "direction",
        "repeat",
    ]
    sentences = refusal(build_site(tmp_path, rows))
    assert len(sentences) == 10
    for number, (sentence, column) in enumerate(zip(sentences, columns, strict=True), start=2):
        assert f"readings.csv, row {number}, column {column}: found " in sentence
        assert sentence.endswith(".")
    assert "give the detector too" in sentences[5]


def test_problems_of_all_files_come_at_once(tmp_path):
    asset = ASSET.replace("tolerance_pct = 5.0\nnonlinearity", "tolerence_pct = 5.0\nnonlinearity")
    home = build_site(tmp_path, ["x"], visit="date = 2026-05-19\n", asset=asset, equipment="[[reference]\n")
    text = "\n".join(refusal(home))
    assert "did you mean 'tolerance_pct'" in text
    assert all(name in text for name in ("asset.toml", "equipment.toml", "visit.toml", "readings.csv"))


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("speed_rpm = 3000", "speed_rpm = -3000", "above 0"),
        ("speed_rpm = 3000", "speed_rpm = 3000, speed_hz = 50", "one of speed_rpm and speed_hz"),
        ("alert = 11.0", "alert = 19.0", "swap them"),
        ("corner_low_hz = 20", "corner_low_hz = 500", "swap them"),
        ('rotors = ["turbine"]', 'rotors = ["turbin"]', "did you mean 'turbine'"),
        ('input_unit = "mm/s pk"', 'input_unit = "mm/s"', "give the detector too"),
        ('tag = "STG-1"', 'tag = "../STG-1"', "path separators"),
        ("[channels.STG-1-V11.band]", "[channels.stg-1-v11]\n[channels.STG-1-V11.band]", "apart by case"),
    ],
)
def test_a_wrong_asset_is_refused(tmp_path, before, after, said):
    assert before in ASSET
    assert said in "\n".join(refusal(build_site(tmp_path, ROWS, asset=ASSET.replace(before, after, 1))))


def test_unknown_equipment_and_rule_are_named(tmp_path):
    visit = VISIT.replace("DVM-1", "DVM-2") + '[decision]\nrule = "guardd"\n'
    assert "did you mean 'guarded'" in "\n".join(refusal(build_site(tmp_path, ROWS, visit=visit)))
    visit = VISIT.replace("DVM-1", "DVM-2")
    assert "did you mean 'DVM-1'" in "\n".join(refusal(build_site(tmp_path, ROWS, visit=visit)))


def plain(visit):
    return [replace(r, applied_decimals=None, output_decimals=None) for r in visit.table.readings]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_every_form_of_csv_reads_alike(tmp_path, separator, decimal, encoding, newline):
    if separator == decimal:
        return
    rows = [row[:-1] + "größer" for row in ROWS]
    home = build_site(tmp_path, rows)
    expected = plain(load_visit(home))
    lines = [[cell.replace(".", decimal) for cell in row.split(",")] for row in rows]
    text = newline.join(separator.join(cells) for cells in [HEADINGS.split(","), *lines])
    (home / "readings.csv").write_bytes(text.encode(encoding))
    assert plain(load_visit(home)) == expected


def test_xlsx_reads_as_csv_does(tmp_path):
    home = build_site(tmp_path, ROWS)
    expected = plain(load_visit(home))
    (home / "readings.csv").unlink()
    book = openpyxl.Workbook()
    for row in [HEADINGS, *ROWS]:
        cells = [None if cell == "" else cell for cell in row.split(",")]
        book.active.append([float(c) if c and c.replace(".", "").isdigit() else c for c in cells])
    book.save(home / "readings.xlsx")
    assert plain(load_visit(home)) == expected
    (home / "readings.csv").write_text("x", encoding="utf-8")
    assert "both readings.csv and readings.xlsx" in "\n".join(refusal(home))


def test_headings_are_mapped(tmp_path):
    headings = HEADINGS.replace("frequency_hz", "Speed (rpm)")
    visit = VISIT + '[columns]\n"Speed (rpm)" = "frequency_rpm"\n'
    rows = [row.replace(",50,", ",3000,", 1) for row in ROWS]
    visit_folder = load_visit(build_site(tmp_path, rows, visit=visit, headings=headings))
    assert {r.frequency_hz for r in visit_folder.table.readings} == {50.0}


def test_a_repeated_row_is_refused(tmp_path):
    assert "the same reading as in row 2" in "\n".join(refusal(build_site(tmp_path, [*ROWS, ROWS[0]])))


def test_broken_files_are_refused_without_traceback(tmp_path):
    home = build_site(tmp_path, ROWS)
    for data in (b"", b"a\0b", b"\xff\xfe\x00", b'"unclosed', b"x," * 1000):
        (home / "readings.csv").write_bytes(data)
        assert refusal(home)
    (home / "readings.csv").unlink()
    (home / "readings.xlsx").write_bytes(b"PK\x03\x04 not a workbook")
    assert "XLSX" in refusal(home)[0]


def test_a_folder_that_is_nothing_is_refused(tmp_path):
    with pytest.raises(InputRefused, match="no visit"):
        find_visits(tmp_path)
    build_site(tmp_path, ROWS)
    assert [p.name for p in find_visits(tmp_path)] == ["2026-05-19"]


@pytest.mark.parametrize("tag", ["..", "a/b", "a\\b", "CON", "nul.txt", " a", "a.", "", "x" * 65, "a\nb", ".a"])
def test_unsafe_tags(tag):
    assert not is_safe_tag(tag)


@given(st.floats(-1e9, 1e9), st.integers(0, 6))
def test_numbers_come_back_with_their_digits(value, decimals):
    text = f"{value:.{decimals}f}"
    assert read_number(text, decimal_comma=False) == (float(text), decimals)
    assert read_number(text.replace(".", ","), decimal_comma=True) == (float(text), decimals)


@pytest.mark.parametrize("text", ["", "nan", "inf", "1e400", "1,234.5", "1 000", "0x10", "1_0", "--1", "٣"])
def test_what_is_no_number(text):
    for comma in (False, True):
        with pytest.raises(NumberRefused):
            read_number(text, decimal_comma=comma)


def test_equipment_dates_and_ranges(tmp_path):
    overlapping = EQUIPMENT.replace("k = 2 }]", "k = 2 }, { from_hz = 9000, to_hz = 2e4, expanded_pct = 2, k = 2 }]")
    assert "overlap" in refusal(build_site(tmp_path, ROWS, equipment=overlapping))[0]
    swapped = EQUIPMENT.replace("due = 2027", "due = 2025", 1)
    assert "mend one of the dates" in refusal(build_site(tmp_path, ROWS, equipment=swapped))[0]


def test_rows_without_an_output_are_not_yet_readings(tmp_path):
    """A half-filled sheet: what else stands in such a row is checked all the same."""
    blank = [
        "STG-1-V11,linearity,as-found,50,,mm/s pk,,mV pk,,,,",
        "STG-1-V11,linearity,as-found,50,2,mm/s pk,,mV pk,,,,",
    ]
    table = load_visit(build_site(tmp_path, [*ROWS, *blank])).table
    assert [r.row for r in table.readings] == [2, 3, 4, 5, 6]
    assert table.pending == (7, 8)
    wrong = blank[0].replace("mm/s pk", "mm/s")
    assert "give the detector too" in refusal(build_site(tmp_path, [*ROWS, wrong]))[0]
    assert "2 rows and no output in any" in refusal(build_site(tmp_path, blank))[0]
    assert "column applied: found nothing" in refusal(build_site(tmp_path, [ROWS[0].replace(",2.01,", ",,")]))[0]


@pytest.mark.parametrize("separator", [",", ";"])
def test_remarks_may_stand_above_the_headings(tmp_path, separator):
    home = build_site(tmp_path, ROWS)
    expected = plain(load_visit(home))
    remarks = ["# take care, hot, high and heavy", f'"# said with a, comma"{separator * 3}', separator * 8]
    text = [*remarks, *(line.replace(",", separator) for line in [HEADINGS, *ROWS])]
    (home / "readings.csv").write_text("\n".join(text), encoding="utf-8")
    readings = load_visit(home).table.readings
    assert [r.row for r in readings] == [5, 6, 7, 8, 9]
    assert [replace(r, row=r.row - 3) for r in plain(load_visit(home))] == expected
    (home / "readings.csv").write_text("# only\n# remarks\n", encoding="utf-8")
    assert "an empty file" in refusal(home)[0]
    bad = HEADINGS.replace("applied_unit", "aplied_unit")
    (home / "readings.csv").write_text("\n".join(["# one", bad, *ROWS]), encoding="utf-8")
    assert "readings.csv, row 2, column aplied_unit" in refusal(home)[0]


def test_columns_that_a_sheet_shows_to_its_reader_are_read_past(tmp_path):
    headings = HEADINGS + ",purpose,planned,expected,lowest,highest,outside"
    rows = [row + ",alert,2.0,8.0,7.6,8.4,=1+1" for row in ROWS]
    assert plain(load_visit(build_site(tmp_path, rows, headings=headings))) == plain(
        load_visit(build_site(tmp_path, ROWS))
    )


def test_a_reading_may_bring_its_own_uncertainty(tmp_path):
    headings = HEADINGS + ",standard_uncertainty_pct"
    visit = load_visit(build_site(tmp_path, [ROWS[0] + ",0.05", ROWS[1] + ",", *ROWS[2:]], headings=headings))
    assert [r.u_pct for r in visit.table.readings] == [0.05, None, None, None, None]
    said = refusal(build_site(tmp_path, [ROWS[0] + ",-1", ROWS[1] + ",x"], headings=headings))
    assert "row 2, column standard_uncertainty_pct: found '-1'; give a number of 0 or more" in said[0]
    assert "row 3, column standard_uncertainty_pct" in said[1]
