"""Files made to cost time or memory without end: refused in a sentence, within seconds, before anything is built.

What each file does to its reader was measured on the reader itself (tomllib, openpyxl, csv) before it was refused:
minutes or gigabytes. No test here takes a time; one that hangs does not pass.
"""

from __future__ import annotations

import os
import zipfile

import openpyxl
import pytest

from tests.fuzzing.sentences import check_sentences
from tests.fuzzing.watch import watched
from tests.support.sites.plants import ASSET, HEADINGS, VISIT, build_site, linearity_rows
from vibcal_nb.inputs.files import table_files, workbook_parts
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused

ROWS = linearity_rows()
HUGE = "0x" + "F" * 20_000
MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def refusal(folder, home) -> str:
    with watched(folder), pytest.raises(InputRefused) as caught:
        load_visit(home)
    said = str(caught.value)
    check_sentences(said)
    return said


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"visit": VISIT + f"ambient_c = {HUGE}\n"}, "ambient_c: found 'a number of thousands of digits'"),
        ({"visit": VISIT + f"ambient_c = [{HUGE}]\n"}, "ambient_c: found 'values nested too deeply or too long'"),
        ({"visit": VISIT + f"[decision]\nrule = {HUGE}\n"}, "rule: found 'a number of thousands of digits'"),
        ({"visit": VISIT + "ambient_c = " + "9" * 5000}, "found a number of thousands of digits; give numbers"),
        ({"asset": ASSET.replace('"mV pk"', HUGE)}, "output_unit: found 'a number of thousands of digits'"),
        ({"asset": ASSET.replace('tag = "STG-1"', f"tag = {HUGE}")}, "tag: found 'a number of thousands of digits'"),
        ({"visit": VISIT + "ambient_c = " + "[" * 900 + "]" * 900}, "found text that is not TOML"),
        ({"visit": VISIT + "a." * 500_000 + "b = 1\n"}, "a key of more than 50 parts"),
        ({"visit": VISIT + "[" + "a . " * 500_000 + "b]\n" + "c = 1\n"}, "a key of more than 50 parts"),
        ({"visit": VISIT + "ambient_c = { " + "'a'.\"b\"." * 50_000 + "c = 1 }\n"}, "a key of more than 50 parts"),
    ],
)
def test_toml_that_grows_without_end(tmp_path, changed, said):
    assert said in refusal(tmp_path, build_site(tmp_path, ROWS, **changed))


def test_dots_that_are_no_keys_are_let_be(tmp_path):
    notes = 'notes = "' + "see 1.2.3. ... " * 100 + '"\n'
    equipment = f"uncertainty = [{', '.join(f'{{ from_hz = {n}.5, to_hz = {n}.6 }}' for n in range(60))}]"
    home = build_site(tmp_path, ROWS, visit=VISIT + notes)
    assert load_visit(home).visit.notes.startswith("see 1.2.3.")
    home = build_site(tmp_path, ROWS, visit=VISIT + equipment)
    assert "the unknown key 'uncertainty'" in refusal(tmp_path, home)


def workbook_of(tmp_path, part: bytes, name="xl/worksheets/sheet1.xml"):
    """A site whose reading table is a workbook with one part replaced."""
    home = build_site(tmp_path, [])
    (home / "readings.csv").unlink()
    book = openpyxl.Workbook()
    book.active.append(HEADINGS.split(","))
    book.save(tmp_path / "plain.xlsx")
    with zipfile.ZipFile(tmp_path / "plain.xlsx") as plain:
        parts = {item: plain.read(item) for item in plain.namelist()}
    with zipfile.ZipFile(home / "readings.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        for item, data in {**parts, name: part}.items():
            archive.writestr(item, data)
    return home


def sheet(body: str) -> bytes:
    return f"<worksheet {MAIN}><sheetData>{body}</sheetData></worksheet>".encode()


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (sheet('<row r="1">' + "<c/>" * 1_000_000 + "</row>"), "a row of more than 100,000 cells"),
        (sheet("<row/>" * 10_000_000), "more cells and formats than a person makes"),
        (sheet('<row r="1"><c t="str"><v>channel</v></c></row><row r="9999999999"/>'), "more than 200,000 rows"),
        (sheet(f'<row r="1" a="{"x" * 20_000_000}"/>'), "a tag of more than 1 MB"),
        (sheet("<!--" + "< x" * 7_000_000 + "-->"), "a tag of more than 1 MB"),
        (sheet("<a>" * 100_000 + "</a>" * 100_000), "elements nested more than 100 deep"),
        (sheet(f'<row><c t="str"><v>{"x" * 1_000_000}</v></c></row>'), "a text of more than 100,000 characters"),
        (b"<!DOCTYPE x [<!ENTITY a 'b'>]><x>&a;</x>", "a document type declaration"),
    ],
)
def test_workbooks_that_unpack_to_more_than_fits(tmp_path, part, said):
    assert said in refusal(tmp_path, workbook_of(tmp_path, part))


def test_a_workbook_of_a_million_formats(tmp_path):
    styles = f"<styleSheet {MAIN}><cellXfs>{'<xf/>' * 1_000_000}</cellXfs></styleSheet>".encode()
    home = workbook_of(tmp_path, styles, "xl/styles.xml")
    assert "more cells and formats" in refusal(tmp_path, home)


def test_a_workbook_inside_a_workbook_is_not_unpacked(tmp_path):
    inner = b"PK\x03\x04" + b"\0" * 100_000_000
    home = workbook_of(tmp_path, inner, "xl/embeddings/inner.xlsx")
    with watched(tmp_path):
        table = load_visit(home).table
    assert (table.readings, table.pending, table.checks) == ((), (), ())


def test_a_zip_of_a_version_that_nobody_knows_is_refused(tmp_path):
    """The archive reader raises NotImplementedError then."""
    home = workbook_of(tmp_path, sheet(""))
    data = bytearray((home / "readings.xlsx").read_bytes())
    data[data.index(b"PK\x01\x02") + 6] = 76  # version needed to extract: 7.6
    (home / "readings.xlsx").write_bytes(data)
    assert "found a file that is no XLSX" in refusal(tmp_path, home)


def test_ten_million_short_rows_are_refused_at_the_bound(tmp_path):
    home = build_site(tmp_path, ["a,"] * 10_000_000)
    assert "more than 200,000 rows" in refusal(tmp_path, home)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("," * 30_000_000, "cells in row 2"),
        ("ab" * 1_000_000, "row 2 that is no CSV (field larger than field limit"),
        ("\n".join(["ab," * 199] * 30_000), "more than 5,000,000 cells"),
    ],
)
def test_rows_without_end(tmp_path, row, said):
    assert said in refusal(tmp_path, build_site(tmp_path, [row]))


def test_a_table_of_something_else_is_told_by_its_first_problems(tmp_path):
    home = build_site(tmp_path, ["x,x,x,x,x,x,x,x,x,x,,"] * 100_000)
    with pytest.raises(InputRefused) as caught:
        load_visit(home)
    assert len(caught.value.problems) < 11_000
    first = str(caught.value).splitlines()[0]
    assert "found more than 10,000 problems in the rows up to 1002; mend those that are listed first" in first


def test_a_table_at_the_bounds_is_read(tmp_path, monkeypatch):
    monkeypatch.setattr(table_files, "MOST_ROWS", len(ROWS) + 1)
    monkeypatch.setattr(table_files, "MOST_CELLS", 12 * (len(ROWS) + 1))
    home = build_site(tmp_path, ROWS)
    assert len(load_visit(home).table.readings) == len(ROWS)
    monkeypatch.setattr(table_files, "MOST_CELLS", 12 * (len(ROWS) + 1) - 1)
    assert "cells" in refusal(tmp_path, home)


def test_a_workbook_at_the_bounds_is_read(tmp_path, monkeypatch):
    home = build_site(tmp_path, [])
    (home / "readings.csv").unlink()
    book = openpyxl.Workbook()
    for row in [HEADINGS, *(f"{row}{'remark ' * 20}." for row in ROWS)]:
        cells = row.split(",")
        book.active.append([float(cell) if cell.replace(".", "").isdigit() else cell or None for cell in cells])
    book.save(home / "readings.xlsx")
    monkeypatch.setattr(workbook_parts, "MOST_CHARACTERS", 141)
    assert {len(reading.note) for reading in load_visit(home).table.readings} == {141}
    monkeypatch.setattr(workbook_parts, "MOST_CHARACTERS", 140)
    assert "a text of more than 140 characters" in refusal(tmp_path, home)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes among its files")
@pytest.mark.parametrize("name", ["readings.csv", "visit.toml", "../asset.toml", "../../equipment.toml"])
def test_a_pipe_in_place_of_a_file_is_not_waited_for(tmp_path, name):
    home = build_site(tmp_path, ROWS)
    (home / name).unlink()
    os.mkfifo(home / name)
    assert name.rpartition("/")[2] in refusal(tmp_path, home)
