"""What people put into the folders is read in every form they write it, or refused in plain sentences."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import PurePosixPath, PureWindowsPath

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.sites.plants import ASSET, EQUIPMENT, HEADINGS, TEN_MISTAKES, VISIT, build_site, linearity_rows
from vibcal_nb.inputs.files.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.load_visits import find_visits, load_visit
from vibcal_nb.inputs.tags import is_safe_tag
from vibcal_nb.problems import InputRefused

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
    sentences = refusal(build_site(tmp_path, TEN_MISTAKES.values()))
    assert len(sentences) == 10
    for number, (sentence, column) in enumerate(zip(sentences, TEN_MISTAKES, strict=True), start=2):
        assert f"readings.csv, row {number}, column {column}: found " in sentence
        assert sentence.endswith(".")
    assert "give the detector too" in sentences[5]


def test_ten_mistakes_in_one_row_give_ten_sentences(tmp_path):
    """Every cell of a row is checked, whatever is wrong with the others."""
    row = "STG-1-V1,linearty,found,-50,1 234,mm/s,1e400,mA,sideways,0.5,,"
    sentences = refusal(build_site(tmp_path, [row]))
    assert [s.split(", column ")[1].split(":")[0] for s in sentences] == list(TEN_MISTAKES)


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
        ("[channels.STG-1-V11.band]", "[channels.stg-1-v11]\n[channels.STG-1-V11.band]", "apart by case or accent"),
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


@pytest.mark.parametrize(
    "tag",
    [
        "..",
        "a/b",
        "a\\b",
        "CON",
        "nul.txt",
        " a",
        "a.",
        "",
        "x" * 65,
        "a\nb",
        ".a",
        "=1+1",
        "@a",
        "-a",
        "COM¹",
        "conin$",
        "NUL .txt",
    ],
)
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
    assert [(p.row, p.channel, p.test, p.condition, p.exclude) for p in table.pending] == [
        (row, "STG-1-V11", "linearity", "as-found", None) for row in (7, 8)
    ]
    wrong = blank[0].replace("mm/s pk", "mm/s")
    assert "give the detector too" in refusal(build_site(tmp_path, [*ROWS, wrong]))[0]
    planned = load_visit(build_site(tmp_path, blank))
    assert planned.is_planned
    assert [row.row for row in planned.table.open] == [2, 3]
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


# --- forms of a table ---


def rewrite(home, change):
    """Put another form of the table's text in its place: text or bytes."""
    path = home / "readings.csv"
    changed = change(path.read_text(encoding="utf-8"))
    path.write_bytes(changed if isinstance(changed, bytes) else changed.encode("utf-8"))
    return home


def semicolons(text):
    return text.replace(",", ";").replace(".", ",")


@pytest.mark.parametrize(
    "change",
    [
        lambda text: "\n".join(line + ",,," for line in text.splitlines()),
        lambda text: "\n".join(line + ";;;" for line in semicolons(text).splitlines()),
        lambda text: "\n".join(",".join(f'"{cell}"' for cell in line.split(",")) for line in text.splitlines()),
        lambda text: text.replace("\n", "\r"),
        lambda text: text.replace(",", " ; "),
        lambda text: text.replace(",", "\t").replace("frequency_hz", " Frequency_Hz "),
        lambda text: semicolons(text).replace("2,01", "2,01\u00a0"),  # a no-break space
        lambda text: text.replace("2.01", "+2.01").replace("5.02", "502e-2"),
        lambda text: text.replace("linearity", "Linearity").replace("as-found", "As Found"),
    ],
    ids=[
        *("trailing commas", "trailing semicolons", "all quoted", "carriage returns", "spaces about the separator"),
        *("tabs", "no-break space", "plus and power of ten", "other case"),
    ],
)
def test_odd_forms_of_csv_read_alike(tmp_path, change):
    home = build_site(tmp_path, ROWS)
    expected = plain(load_visit(home))
    assert plain(load_visit(rewrite(home, change))) == expected


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_units_with_a_mu_and_a_square_in_every_encoding(tmp_path, encoding):
    rows = [row.replace("mm/s pk", "m/s² pk") for row in ROWS[:2]] + [
        row.replace("mm/s pk", "µm p-p") for row in ROWS[2:]
    ]
    home = rewrite(build_site(tmp_path, rows), lambda text: text.encode(encoding))
    units = [r.applied_unit.text for r in load_visit(home).table.readings]
    assert units == ["m/s2 pk"] * 2 + ["um pkpk"] * 3


def test_empty_rows_count_and_quoted_line_breaks_do_not(tmp_path):
    text = [HEADINGS, ROWS[0] + '"two\nlines, and a comma"', "", ",,,,,,,,,,,", ROWS[1]]
    home = rewrite(build_site(tmp_path, ROWS), lambda _: "\n".join(text))
    readings = load_visit(home).table.readings
    assert [(r.row, r.note) for r in readings] == [(2, "two\nlines, and a comma"), (5, None)]


def test_digits_as_typed_tell_the_resolution(tmp_path):
    rows = [row.replace("2.01,", "2.010,") for row in ROWS]
    readings = load_visit(build_site(tmp_path, rows)).table.readings
    assert [(r.applied_decimals, r.output_decimals) for r in readings] == [(3, 3)] + [(2, 3)] * 4


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda text: text.replace("mV pk,,,,\n", "mV pk,,,,a, b\n", 1), "row 2: found 'b' beyond the last heading"),
        (lambda text: semicolons(text).replace(";50;", ";1.000,5;", 1), "'1.000,5'; give a number with one decimal"),
        # a thousand or a little over one? the other numbers say that this table's writer means a thousand
        (lambda text: semicolons(text).replace(";50;", ";1.485;", 1), "found '1.485'; give decimal commas throughout"),
        (lambda text: text.replace("2.01", "2.01 %"), "found '2.01 %'; give a number such as 12.5"),
        (lambda text: text.replace("2.01", "-2.01"), "found '-2.01'; give a number of 0 or more"),
        (lambda text: text.replace("2.01", "\u22122.01"), "found '\u22122.01'; give a number of 0 or more"),
        (lambda text: "\n" + text, "an empty first row; put the headings into row 1"),
        (lambda text: text.encode("utf-16-le"), "NUL bytes, which no text file has"),
        (lambda text: text.replace("note", "exclude", 1), "the column exclude a second time"),
        (lambda text: text.replace("frequency_hz", "freqency_hz"), "did you mean 'frequency_hz'"),
        (lambda text: text.replace("_hz,", "_hz,frequency_rpm,").replace(",50,", ",50,3000,"), "both frequency_hz and"),
        (lambda text: text.replace(",note", ","). replace("pk,,,,\n", "pk,,,,x\n"), "no heading above filled cells"),
    ],
)  # fmt: skip
def test_what_a_table_cannot_be_is_said(tmp_path, change, said):
    assert said in "\n".join(refusal(rewrite(build_site(tmp_path, ROWS), change)))


def workbook(home, fill):
    """Replace the table by a workbook that ``fill`` has changed; numbers are numbers."""
    book = openpyxl.Workbook()
    for row in [HEADINGS, *ROWS]:
        book.active.append([float(c) if c.replace(".", "").isdigit() else c or None for c in row.split(",")])
    fill(book)
    (home / "readings.csv").unlink(missing_ok=True)
    book.save(home / "readings.xlsx")
    return home


def test_of_a_workbook_the_first_sheet_counts_and_empty_cells_do_not(tmp_path):
    home = build_site(tmp_path, ROWS)
    expected = plain(load_visit(home))

    def fill(book):
        book.create_sheet("other").append(["anything at all"])
        book.active["BA900"] = " "

    assert plain(load_visit(workbook(home, fill))) == expected


def test_a_workbook_keeps_no_trailing_zeros(tmp_path):
    """5.00 is 5 in a workbook: a whole number there says nothing of the resolution, least of all that it is 1."""
    home = build_site(tmp_path, ROWS)

    def fill(book):
        book.active["E2"], book.active["E3"], book.active["G2"] = 2, 5.0, "8.10"  # a text is as typed

    readings = load_visit(workbook(home, fill)).table.readings
    assert [r.applied_decimals for r in readings[:3]] == [None, None, 2]
    assert (readings[0].applied, readings[1].applied, readings[0].output_decimals) == (2.0, 5.0, 2)


@pytest.mark.parametrize(
    ("cell", "value", "said"),
    [
        ("G3", "=G2+1", "row 3, column output: found '=G2+1'"),  # never calculated: no empty cell, and no number
        ("G2", "8,14", "row 2, column output: found '8,14'; give a number with a decimal point"),
        ("E4", "#DIV/0!", "row 4, column applied: found '#DIV/0!'"),
        ("D5", datetime(2026, 5, 19), "row 5, column frequency_hz: found '2026-05-19 00:00:00'"),
        ("G6", True, "row 6, column output: found 'True'"),
        ("M2", "x", "row 2: found 'x' beyond the last heading"),
        ("A1", "chanel", "row 1, column chanel: found an unknown heading; did you mean 'channel'"),
    ],
)
def test_cells_of_a_workbook_that_are_no_reading(tmp_path, cell, value, said):
    def fill(book):
        book.active[cell] = value

    assert said in "\n".join(refusal(workbook(build_site(tmp_path, ROWS), fill)))


@pytest.mark.parametrize(
    ("columns", "change", "said"),
    [
        ('"A" = "frequency_hx"', str, "key columns.A: found 'frequency_hx'; did you mean 'frequency_hz'"),
        ('"A" = "note"\n"B" = "note"', str, "the column 'note' a second time; map one heading to each column"),
        ('"A" = 3', str, "key columns.A: found '3'; give one of channel"),
        ('"K" = "channel"', lambda t: t.replace("channel", "Channel,K").replace("V11", "V11,x"), "a second time"),
        ('"F" = "frequency_hz"', lambda t: t.replace("frequency_hz", "f"), "column f: found an unknown heading"),
    ],
)  # fmt: skip
def test_mappings_that_do_not_do_are_said(tmp_path, columns, change, said):
    home = build_site(tmp_path, ROWS, visit=VISIT + f"[columns]\n{columns}\n")
    assert said in "\n".join(refusal(rewrite(home, change)))


def test_a_mapping_wins_over_a_heading_of_the_same_name(tmp_path):
    """Somebody's 'output' is what the shaker put out: the mapping says so, and is taken at its word."""
    headings = (
        HEADINGS.replace("applied,", "OUT,").replace("output,", "IN,").replace("OUT", "output").replace("IN", "read")
    )
    visit = VISIT + '[columns]\n"output" = "applied"\n"read" = "output"\n'
    expected = plain(load_visit(build_site(tmp_path / "a", ROWS)))
    assert plain(load_visit(build_site(tmp_path / "b", ROWS, visit=visit, headings=headings))) == expected


# --- tags become names of files ---


def with_channel(tag):
    return ASSET.replace("channels.STG-1-V11", f'channels."{tag}"')


@pytest.mark.parametrize(
    "tag",
    ["../V11", "..", "a/b", "a\\\\b", "C:V11", "NUL", "com1.x", "V11 ", ".V11", "V*", "%41", "V\\u202e", "é" * 101],
)
def test_unsafe_channel_tags_are_refused(tmp_path, tag):
    home = build_site(tmp_path, ROWS, asset=with_channel(tag))
    assert "tags name files: give 1 to 64 letters" in "\n".join(refusal(home))


@pytest.mark.parametrize("tag", ["superseded", "Superseded"])
def test_the_name_of_the_folder_of_earlier_revisions_is_no_tag(tmp_path, tag):
    home = build_site(tmp_path, ROWS, asset=with_channel(tag))
    assert "the folder of earlier revisions has that name" in "\n".join(refusal(home))


@pytest.mark.parametrize(("name", "good"), [("r" * 64, True), ("r" * 65, False), (" ", False), ("two\\nlines", False)])
def test_names_of_ones_own_choice_fit_a_table(tmp_path, name, good):
    asset = ASSET.replace("turbine = {", f'"{name}" = {{').replace('["turbine"]', f'["{name}"]')
    visit = f'{VISIT}[contributions."{name}"]\nvalue_pct = 0.6\nsource = "trial"\n'
    home = build_site(tmp_path, ROWS, asset=asset, visit=visit)
    if good:
        loaded = load_visit(home)
        assert [rotor.name for rotor in loaded.asset.channels["STG-1-V11"].rotors] == [name]
        return
    said = [line for line in refusal(home) if "give a name of 1 to 64 characters on one line" in line]
    assert [line.split(":")[0].split(",")[0] for line in said] == ["STG-1/2026-05-19/visit.toml", "STG-1/asset.toml"]


@pytest.mark.parametrize(("tag", "bytes_"), [("\U0001f4a1" * 64, 256), ("é" * 64, 128)])
def test_a_tag_is_no_longer_than_a_file_system_takes(tag, bytes_):
    assert len(tag.encode()) == bytes_
    assert is_safe_tag(tag) == (bytes_ < 200)


@pytest.mark.parametrize("twin", ["stg-1-v11é", "STG-1-V11É", "STG-1-V11e\u0301"])
def test_tags_that_a_file_system_takes_for_one_are_refused(tmp_path, twin):
    """Windows and macOS do not tell case apart, macOS not the form of an accent either."""
    one = with_channel("STG-1-V11é")
    other = one.split("[channels", 1)[1].split("[channels", 1)[0].replace("STG-1-V11é", twin)
    home = build_site(tmp_path, ROWS, asset=one + "[channels" + other)
    assert "which some systems do not tell apart by case or accent" in "\n".join(refusal(home))


@given(st.text(max_size=70))
def test_a_safe_tag_names_a_file_in_its_own_folder(tag):
    if is_safe_tag(tag):
        assert PurePosixPath(tag).name == tag and PureWindowsPath(tag).name == tag
        assert (PureWindowsPath("out") / tag).parent == PureWindowsPath("out")
        assert not tag.isspace() and len(tag.encode()) < 255
