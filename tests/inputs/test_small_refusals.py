"""What a new user meets first: tables as other programs write them, a folder that is a file, a conflict not settled."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import VISIT, build_site, linearity_rows
from vibcal_nb.inputs.load_asset import find_asset_folders
from vibcal_nb.inputs.load_visits import find_visits, load_visit
from vibcal_nb.problems import InputRefused
from vibcal_nb.units import convert, parse_unit


def refusal(what, *arguments):
    with pytest.raises(InputRefused) as refused:
        what(*arguments)
    return [problem.sentence for problem in refused.value.problems]


def rewritten(home, change):
    path = home / "readings.csv"
    path.write_bytes(change(path.read_text(encoding="utf-8")).encode("utf-8"))
    return home


def test_a_first_line_that_states_the_separator_is_followed_and_counted(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    rewritten(home, lambda text: "sep=;\n" + text.replace(",", ";").replace(".", ","))
    table = load_visit(home).table
    assert [reading.row for reading in table.readings] == [3, 4, 5, 6, 7]
    assert table.readings[0].applied == 2.01


def test_headings_with_blanks_and_capitals_are_the_columns_that_they_say(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    rewritten(home, lambda text: text.replace("applied_unit", "Applied unit").replace("frequency_hz", "Frequency Hz"))
    assert len(load_visit(home).table.readings) == 5


def test_a_merge_conflict_is_told_once_with_its_lines(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    ours, theirs = linearity_rows(levels=(25.0,))[0], linearity_rows(levels=(25.5,))[0]
    rewritten(home, lambda text: text + f"<<<<<<< HEAD\n{ours}\n=======\n{theirs}\n>>>>>>> other\n")
    assert refusal(load_visit, home) == [
        "STG-1/2026-05-19/readings.csv: found merge-conflict marks of version control in lines 7, 9, 11; "
        "keep one of the two versions of each part, and remove the marks."
    ]
    home = build_site(tmp_path, linearity_rows(), visit=f"<<<<<<< HEAD\n{VISIT}=======\n{VISIT}>>>>>>> other\n")
    (sentence,) = refusal(load_visit, home)
    assert "visit.toml: found merge-conflict marks of version control in lines 1, 5, 9" in sentence


def test_a_row_of_equals_signs_alone_is_no_conflict(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    said = refusal(load_visit, rewritten(home, lambda text: text + "=======\n"))
    assert all("row 7" in sentence and "merge" not in sentence for sentence in said)


def test_a_path_to_a_file_in_place_of_a_folder_names_the_folder(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    for what in (find_visits, find_asset_folders):
        (sentence,) = refusal(what, home / "readings.csv")
        assert f"found a file where a folder belongs; give the folder that it lies in: {home.as_posix()}." in sentence
    (sentence,) = refusal(find_visits, tmp_path / "nowhere")
    assert sentence.endswith("nowhere: found no such folder; give the folder of a visit, an asset or a site.")


@pytest.mark.parametrize("name", ["Readings.CSV", "READINGS.xlsx", "readings of May.csv"])
def test_a_table_under_another_name_is_named(tmp_path, name):
    home = build_site(tmp_path, linearity_rows())
    (home / "readings.csv").rename(home / name)
    if (home / "readings.csv").exists() or (home / "readings.xlsx").exists():
        pytest.skip("this file system tells no case apart")
    (sentence,) = refusal(load_visit, home)
    assert f"found no such file, but '{name}'; name it readings.csv, readings.xlsx or readings.ods." in sentence


def test_an_ods_table_is_read_as_a_workbook_is(tmp_path):
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    home = build_site(tmp_path, linearity_rows())
    lines = (home / "readings.csv").read_text(encoding="utf-8").splitlines()
    expected = load_visit(home).table.readings
    document = OpenDocumentSpreadsheet()
    table = Table(name="readings")
    for line in lines:
        row = TableRow()
        for text in line.split(","):
            number = text.replace(".", "").isdigit()
            cell = TableCell(valuetype="float", value=text) if number else TableCell(valuetype="string")
            if text and not number:
                cell.addElement(P(text=text))
            row.addElement(cell)
        table.addElement(row)
    document.spreadsheet.addElement(table)
    (home / "readings.csv").unlink()
    document.save(home / "readings.ods")
    readings = load_visit(home).table.readings
    assert [(r.row, r.applied, r.output, r.output_unit) for r in readings] == [
        (r.row, r.applied, r.output, r.output_unit) for r in expected
    ]


def test_microamperes_are_known():
    for text in ("uA rms", "µA rms", "μA RMS"):
        assert parse_unit(text).text == "uA rms"
    assert convert(1500.0, parse_unit("uA dc"), parse_unit("mA dc")) == pytest.approx(1.5, rel=1e-15)


def test_decimal_commas_between_commas_are_explained(tmp_path):
    rows = [row.replace("2.01", "2,01") for row in linearity_rows()]
    assert refusal(load_visit, build_site(tmp_path, rows)) == [
        "STG-1/2026-05-19/readings.csv, row 2: found '2,01' split at its comma; "
        "write decimal points, or separate the cells by semicolons."
    ]
