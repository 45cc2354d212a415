"""Sheets of cells as files hold them, against independent writers: openpyxl, odfpy, and Python's own encodings."""

from __future__ import annotations

import zipfile
from datetime import date

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P

from tests.support.readings.cases import SHORT
from vibcal_nb.inputs.grids.grid import address, letters, parse_address, parse_letters
from vibcal_nb.inputs.grids.read_grids import read_grids


def sheets(path, **options):
    problems = []
    found = read_grids(path, problems, **options)
    assert not problems, problems[0].sentence
    return found


def refusal(path, **options):
    problems = []
    assert read_grids(path, problems, **options) is None
    return problems[0].sentence


def texts(grid):
    return [[cell.text for cell in row] for row in grid.rows]


@SHORT
@given(st.integers(1, 200_000), st.integers(0, 700))
def test_an_address_names_its_cell_and_openpyxl_agrees(row, column):
    assert parse_address(address(row, column)) == (row, column)
    assert parse_letters(letters(column)) == column
    assert openpyxl.utils.get_column_letter(column + 1) == letters(column)


def test_a_workbook_tells_numbers_percentages_dates_and_formulas_apart(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "V11"
    sheet.append(["Level", 12.5, 0.012, date(2024, 5, 21), "=B1*2", True, "8,02", None, 5])
    sheet["C1"].number_format = "0.0%"
    book.create_sheet("empty")
    other = book.create_sheet("V12")
    other["B3"] = 7
    book.save(tmp_path / "old.xlsx")
    first, second = sheets(tmp_path / "old.xlsx")
    kinds = [(cell.kind, cell.text) for cell in first.rows[0]]
    assert kinds == [
        ("text", "Level"),
        ("number", "12.5"),
        ("percentage", "0.012"),
        ("date", "2024-05-21"),
        ("formula", "=B1*2"),
        ("text", "TRUE"),
        ("text", "8,02"),
        ("text", ""),
        ("number", "5"),
    ]
    assert (second.name, texts(second)) == ("V12", [[], [], ["", "7"]])


def ods(path, name, rows, *, percent=()):
    document = OpenDocumentSpreadsheet()
    document.automaticstyles.addElement(Style(name="ce1", family="table-cell"))
    table = Table(name=name)
    for number, cells in enumerate(rows):
        row = TableRow()
        for place, value in enumerate(cells):
            if value is None:
                row.addElement(CoveredTableCell())
            elif isinstance(value, float) and (number, place) in percent:
                row.addElement(TableCell(valuetype="percentage", value=value))
            elif isinstance(value, int | float):
                row.addElement(TableCell(valuetype="float", value=value))
            elif isinstance(value, date):
                row.addElement(TableCell(valuetype="date", datevalue=value.isoformat()))
            else:
                cell = TableCell(valuetype="string")
                for line in value.split("\n"):
                    cell.addElement(P(text=line))
                row.addElement(cell)
        row.addElement(TableCell(numbercolumnsrepeated=1000))
        table.addElement(row)
    last = TableRow(numberrowsrepeated=1_000_000)
    last.addElement(TableCell(numbercolumnsrepeated=1024))
    table.addElement(last)
    document.spreadsheet.addElement(table)
    document.save(path)


def test_an_open_document_reads_as_odfpy_wrote_it_and_repeated_empty_cells_are_never_made(tmp_path):
    rows = [["Frequenz", None, "Bemerkung\nzweite Zeile"], [50, 12.25, 0.012], [date(2024, 5, 21), "8,02", "°"]]
    ods(tmp_path / "old.ods", "Blatt 1", rows, percent={(1, 2)})
    (grid,) = sheets(tmp_path / "old.ods")
    assert grid.name == "Blatt 1"
    assert texts(grid) == [
        ["Frequenz", "", "Bemerkung\nzweite Zeile"],
        ["50", "12.25", "0.012"],
        ["2024-05-21", "8,02", "°"],
    ]
    assert [cell.kind for cell in grid.rows[1]] == ["number", "number", "percentage"]
    assert grid.at(3, 0).kind == "date"


CONTENT = (
    '<?xml version="1.0"?>{doctype}<office:document-content '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body><office:spreadsheet>'
    '<table:table table:name="S">{rows}</table:table></office:spreadsheet></office:body></office:document-content>'
)


X = "<text:p>x</text:p></table:table-cell></table:table-row>"


def archive(path, *, rows="", doctype=""):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("content.xml", CONTENT.format(rows=rows, doctype=doctype))
    return path


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"doctype": '<!DOCTYPE x [<!ENTITY a "b">]>'}, "document type declaration"),
        (
            {"rows": f'<table:table-row><table:table-cell table:number-columns-repeated="999999">{X}'},
            "more than 200 columns",
        ),
        (
            {"rows": f'<table:table-row table:number-rows-repeated="999999999"><table:table-cell>{X}'},
            "more than 200,000 rows",
        ),
        ({"rows": "<table:table-row><table:table-cell>" + "<a>" * 200}, "nested more than 100 deep"),
        ({"rows": f"<table:table-row><table:table-cell><text:p>{'x' * 200_000}</text:p>"}, "a text of more than"),
        ({"rows": "<table:table-row>"}, "no readable ODS (ExpatError)"),
        ({}, "an empty file"),
    ],
)  # fmt: skip
def test_an_open_document_that_would_unpack_without_end_or_is_broken_is_refused(tmp_path, given, said):
    assert said in refusal(archive(tmp_path / "old.ods", **given))


def test_texts_in_annotations_are_no_cells(tmp_path):
    rows = (
        "<table:table-row><table:table-cell><office:annotation><text:p>note 99</text:p></office:annotation>"
        "<text:p>a<text:s/>b</text:p></table:table-cell></table:table-row>"
    )
    (grid,) = sheets(archive(tmp_path / "old.ods", rows=rows))
    assert texts(grid) == [["a b"]]


def test_a_loggers_file_with_a_head_a_degree_sign_and_semicolons_is_read(tmp_path):
    head = 'Logger 7;"v. 2,1"\r\nTemperatur;23,5 °C\r\n\r\nZeit;Kanal 1 [m/s²];Kanal 2 [mV]\r\n'
    text = head + "0,000;1,25;5,02\r\n0,001;1,27;5,10\r\n"
    (tmp_path / "log.csv").write_bytes(text.encode("windows-1252"))
    (grid,) = sheets(tmp_path / "log.csv")
    assert grid.decimal_comma
    assert texts(grid)[1] == ["Temperatur", "23,5 °C"]
    assert texts(grid)[4] == ["0,000", "1,25", "5,02"]


def test_a_stated_separator_line_is_followed(tmp_path):
    (tmp_path / "a.csv").write_text("sep=;\na,b;c\n1,5;2\n", encoding="utf-8")
    (grid,) = sheets(tmp_path / "a.csv")
    assert texts(grid)[1:] == [["a,b", "c"], ["1,5", "2"]]


def test_files_that_are_no_tables_are_refused_in_a_sentence(tmp_path):
    assert "no such file" in refusal(tmp_path / "none.xlsx")
    (tmp_path / "a.xlsx").write_bytes(b"PK nonsense")
    assert "a file that is no XLSX" in refusal(tmp_path / "a.xlsx")
    (tmp_path / "a.ods").write_bytes(b"PK nonsense")
    assert "no readable ODS" in refusal(tmp_path / "a.ods")
    (tmp_path / "a.doc").write_bytes(b"x")
    assert "a file of the kind '.doc'" in refusal(tmp_path / "a.doc")
    (tmp_path / "a.csv").write_bytes(b"\xfc;1\n")
    assert "bytes that are not utf-8" in refusal(tmp_path / "a.csv", encoding="utf-8")
    assert "not nonsense" in refusal(tmp_path / "a.csv", encoding="nonsense")
