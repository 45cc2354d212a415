"""`sheet` makes the folder of a new visit, and plans what can be planned of every channel."""

from __future__ import annotations

import shutil
import tomllib
from datetime import date

import openpyxl
import pytest

from tests.support.places import DEMO
from tests.support.sites.sheet_filling import heading_row
from tests.support.sites.worked_out import WorkedOut
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.running.commands.cli import main


@pytest.fixture
def site(tmp_path):
    for name in ("equipment.toml", "kinds.toml", "STG-1/asset.toml", "FDF-3/asset.toml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(DEMO / name, tmp_path / name)
    return tmp_path


def planned(path):
    sheet = openpyxl.load_workbook(path / "readings.xlsx").worksheets[0]
    top = heading_row(sheet)
    names = [sheet.cell(row=top, column=c).value for c in range(1, sheet.max_column + 1)]
    rows = sheet.iter_rows(min_row=top + 1, values_only=True)
    return [dict(zip(names, row, strict=True)) for row in rows if row[0]]


def test_a_new_day_below_its_asset_becomes_a_planned_visit(site, capsys):
    assert main(["sheet", str(site / "STG-1" / "2026-06-01")]) == 0
    stated = tomllib.loads((site / "STG-1" / "2026-06-01" / "visit.toml").read_text(encoding="utf-8"))
    assert stated == {
        "date": date(2026, 6, 1),
        "performed_by": "",
        "equipment": ["REF-26", "INJ-26", "MIC-26", "DVM-26"],
    }
    visit = load_visit(site / "STG-1" / "2026-06-01")
    assert visit.is_planned
    assert len(visit.table.open) == len(planned(site / "STG-1" / "2026-06-01")) > 6 * 30


def test_certificates_that_will_have_run_out_are_told_and_not_proposed(site, capsys):
    assert main(["sheet", str(site / "STG-1" / "2026-07-01")]) == 0
    said = capsys.readouterr().out
    assert "The certificate of REF-26 runs out on 2026-06-30, before the planned day 2026-07-01" in said
    assert "No readout is named for the visit" in said
    assert load_visit(site / "STG-1" / "2026-07-01").visit.equipment == ("INJ-26", "MIC-26")
    book = openpyxl.load_workbook(site / "STG-1" / "2026-07-01" / "readings.xlsx")
    remarks = [str(row[0]) for row in book.worksheets[0].iter_rows(max_row=12, max_col=1, values_only=True)]
    assert any("certificate of REF-26 runs out" in remark for remark in remarks)


def test_approaches_votes_and_items_are_planned_and_read_back(site):
    """Steps of parts of the tolerance from where a set point is set, by hand: 5 % of 30 is 1.5."""
    (site / "BFP-2").mkdir()
    shutil.copy(DEMO / "BFP-2/asset.toml", site / "BFP-2/asset.toml")
    tests = [word for name in ("set-point", "voting", "electrical") for word in ("--test", name)]
    assert main(["sheet", str(site / "BFP-2" / "2026-06-01"), "--format", "csv", *tests]) == 0
    rows = load_visit(site / "BFP-2" / "2026-06-01").table.open
    assert sum(row.test == "voting" for row in rows) == 2**3
    assert sum(row.test == "electrical" for row in rows) == 4
    alert = [row.level for row in rows if (row.channel, row.repeat, row.direction) == ("BFP-2-A11", 1, "rising")]
    assert alert[:6] == [24.0, 27.0, 28.5, 29.25, 29.625, 30.0]
    assert {row.direction for row in rows if row.test == "set-point"} == {"rising", "falling"}


@pytest.fixture
def relays(site):
    """A planned visit of a machine with a group that votes, and its workbook of relays."""
    (site / "BFP-2").mkdir()
    shutil.copy(DEMO / "BFP-2/asset.toml", site / "BFP-2/asset.toml")
    tests = [word for name in ("set-point", "voting", "electrical") for word in ("--test", name)]
    assert main(["sheet", str(site / "BFP-2" / "2026-06-01"), *tests]) == 0
    visit = site / "BFP-2" / "2026-06-01" / "visit.toml"
    text = visit.read_text(encoding="utf-8").replace('performed_by = ""', 'performed_by = "A"')
    visit.write_text(text, encoding="utf-8")
    return visit.parent


def fill_relays(home, wanted, **filled):
    """Fill the first planned row that ``wanted`` holds of, as a person would; return its number."""
    book = openpyxl.load_workbook(home / "readings.xlsx")
    sheet = book.worksheets[0]
    top = heading_row(sheet)
    places = {sheet.cell(row=top, column=c).value: c for c in range(1, sheet.max_column + 1)}
    for number in range(top + 1, sheet.max_row + 1):
        if wanted({name: sheet.cell(row=number, column=place).value for name, place in places.items()}):
            break
    for name, value in filled.items():
        cell = sheet.cell(row=number, column=places[name], value=value)
        assert not cell.protection.locked
        assert cell.fill.fgColor.rgb != "00000000"
    book.save(home / "readings.xlsx")
    return number


def test_relays_are_planned_in_a_workbook_as_in_csv(relays, site, capsys):
    book = load_visit(relays).table.open
    tests = [word for name in ("set-point", "voting", "electrical") for word in ("--test", name)]
    assert main(["sheet", str(site / "BFP-2" / "2026-06-02"), "--format", "csv", *tests]) == 0
    csv = load_visit(site / "BFP-2" / "2026-06-02").table.open

    def what(rows):
        return [(r.channel, r.test, r.frequency_hz, r.level, r.direction, r.repeat) for r in rows]

    assert what(book) == what(csv)
    assert {row.test for row in book} == {"set-point", "voting", "electrical"}
    assert main(["check", str(relays)]) == 0
    assert f"{len(book)} rows to read" in capsys.readouterr().out


def test_a_half_filled_workbook_of_relays_is_read_back_as_it_was_filled(relays, capsys):
    rows = len(load_visit(relays).table.open)
    level = fill_relays(
        relays, lambda c: c["set_point"] == "trip" and c["test"] == "set-point", applied=41.3, acted="yes", delay_s=1.04
    )
    vote = fill_relays(relays, lambda c: c["in_trip"] == "BFP-2-A11 BFP-2-A12", acted="yes")
    item = fill_relays(relays, lambda c: c["channel"] == "BFP-2-A12" and c["item"] == "bias", value=10.2)
    table = load_visit(relays).table
    assert len(table.open) == rows - 3
    found = {row.row: row for row in table.checks}
    assert set(found) == {level, vote, item}
    read = found[level]
    assert (read.set_point, read.applied, read.acted, read.delay_s) == ("trip", 41.3, True, 1.04)
    assert (found[vote].channel, found[vote].in_trip) == ("BFP-2-TRIP", ("BFP-2-A11", "BFP-2-A12"))
    assert found[vote].acted is True
    assert (found[item].item, found[item].value, found[item].unit) == ("bias", 10.2, "V")
    assert main(["check", str(relays)]) == 1  # what is begun stands unverified until all of it is read
    said = capsys.readouterr().out
    assert f"readings.xlsx: {rows - 3} rows have no output and are not yet read" in said
    assert "names no reference" not in said  # a vote and a bias are read without one


def test_a_workbook_of_relays_says_what_is_missing_and_what_lies_outside(relays):
    """Bias 8 to 12 V; what is begun and not whole is asked about."""
    half = fill_relays(relays, lambda c: c["set_point"] == "trip", applied=41.3)
    done = fill_relays(relays, lambda c: c["set_point"] == "alert", applied=24.0, acted="no")
    other = fill_relays(relays, lambda c: c["set_point"] == "alert" and not c["applied"], acted="yes")
    bias = [
        fill_relays(relays, lambda c, tag=tag: (c["channel"], c["item"]) == (tag, "bias"), value=value)
        for tag, value in (("BFP-2-A11", 10.2), ("BFP-2-A12", 12.3))
    ]
    book = openpyxl.load_workbook(relays / "readings.xlsx")
    sheet = book.worksheets[0]
    column = next(cell.column for cell in sheet[heading_row(sheet)] if cell.value == "outside")
    worked = WorkedOut(book)
    said = [worked.value(sheet.title, row, column) for row in (half, done, other, *bias)]
    assert said == ["acted?", "", "applied?", "", "OUTSIDE"]


def test_a_workbook_of_relays_warns_offers_words_and_prints_with_headings_of_each_test(relays):
    book = openpyxl.load_workbook(relays / "readings.xlsx")
    sheet, paper = book.worksheets[0], book["to print"]
    remarks = " ".join(str(row[0]) for row in sheet.iter_rows(max_row=heading_row(sheet), max_col=1, values_only=True))
    assert "A trip path that is live is driven only under the site's permit" in remarks
    offered = [rule.formula1 for rule in sheet.data_validations.dataValidation]
    assert '"yes,no"' in offered
    assert any("BFP-2-TRIP" in words for words in offered)
    lines = [tuple(row) for row in paper.iter_rows(values_only=True)]
    assert ("in trip", None, None, None, "acted", None, None, "for", None) in lines
    assert ("BFP-2-A11 BFP-2-A12", None, None, None, None, None, None, "2oo3", None) in lines
    assert ("bias", None, None, None, None, "V", "8", "12", "before anything is shaken") in lines
    assert "permit" in paper["A1"].value


@pytest.mark.parametrize("name", ["next-year", "2026-13-01", "20260601"])
def test_a_folder_that_is_named_by_no_day_is_refused_and_not_made(site, name, capsys):
    assert main(["sheet", str(site / "STG-1" / name)]) == 2
    assert "name a new visit by its day, such as 2027-05-18" in capsys.readouterr().err
    assert not (site / "STG-1" / name).exists()


def test_the_plan_is_of_what_will_hold_on_the_day(site):
    asset = site / "STG-1" / "asset.toml"
    more = "\n[channels.STG-1-V11.from.2026-06-02]\ntrip = 20.0\nalert = 12.5\n"
    asset.write_text(asset.read_text(encoding="utf-8") + more, encoding="utf-8")
    for day, trip in (("2026-06-01", 18.0), ("2026-06-02", 20.0)):
        home = site / "STG-1" / day
        assert main(["sheet", str(home), "--channel", "STG-1-V11", "--test", "linearity"]) == 0
        assert [row["planned"] for row in planned(home) if row["purpose"] == "trip"] == [trip]


def test_a_channel_without_a_moving_mass_gets_its_rows_with_a_remark(site, capsys):
    kinds = site / "kinds.toml"
    kinds.write_text(kinds.read_text(encoding="utf-8").replace("moving_mass_kg = 4.7\n", "", 1), encoding="utf-8")
    asset = site / "STG-1" / "asset.toml"
    of_kind = 'kind = "casing-velocity"\n'
    text = asset.read_text(encoding="utf-8").replace(of_kind, f"{of_kind}moving_mass_kg = 4.7\n", 1)
    asset.write_text(text, encoding="utf-8")
    assert main(["sheet", str(site / "STG-1" / "2026-06-01")]) == 0
    said = capsys.readouterr().out
    assert "The mass that the shaker carries is not known for channel STG-1-V12; give moving_mass_kg" in said
    assert "STG-1-V11" not in said.split("not known")[1]
    rows = planned(site / "STG-1" / "2026-06-01")
    assert {row["channel"] for row in rows} == {f"STG-1-V{n}" for n in (11, 12, 21, 22, 31, 32)}
    tops = {row["planned"] for row in rows if row["purpose"] == "top of the range" and row["channel"] == "STG-1-V31"}
    assert tops == {19.8}  # 1.1 times the trip, held against no shaker


def test_what_follows_the_sensor_is_planned_by_injection(site, capsys):
    home = site / "STG-1" / "2026-06-01"
    assert main(["sheet", str(home), "--test", "module-alone", "--channel", "STG-1-V21"]) == 0
    rows = planned(home)
    assert {row["test"] for row in rows} == {"module-alone"}
    assert {row["frequency_hz"] for row in rows} == {50, 149}
    assert {(row["applied_unit"], row["output_unit"]) for row in rows} == {("pC pk", "mV pk")}
    trip = next(row for row in rows if row["purpose"] == "trip" and row["frequency_hz"] == 149)
    assert trip["planned"] == pytest.approx(18.0 * 2.0 * 3.141592653589793 * 149.0 / 1000.0 * 5.0, rel=1e-3)
    assert main(["check", str(home)]) == 0


def test_a_retired_asset_has_nothing_to_plan(site, capsys):
    asset = site / "FDF-3" / "asset.toml"
    text = asset.read_text(encoding="utf-8").replace("[asset]\n", "[asset]\nretired = 2026-05-31\n")
    asset.write_text(text, encoding="utf-8")
    assert main(["sheet", str(site / "FDF-3" / "2026-06-01")]) == 2
    assert "FDF-3 is retired since 2026-05-31; there is nothing to plan" in capsys.readouterr().err
    assert not (site / "FDF-3" / "2026-06-01").exists()
    assert main(["sheet", str(site / "FDF-3" / "2026-05-30")]) == 0


def test_the_sheet_to_print_has_what_is_needed_on_site_in_large_type(site):
    home = site / "STG-1" / "2026-06-01"
    main(["sheet", str(home)])
    sheet = openpyxl.load_workbook(home / "readings.xlsx")["to print"]
    assert (sheet.page_setup.orientation, sheet.page_setup.fitToWidth) == ("portrait", 1)
    headings = ["Hz", "set to", "unit", "applied", "output", "unit", "from", "to", "for"]
    assert [cell.value for cell in sheet[2]] == headings
    assert {cell.font.size for row in sheet.iter_rows(min_row=3) for cell in row if cell.value} == {13.0}
    width = sum(sheet.column_dimensions[letter].width for letter in "ABCDEFGHI")
    assert width < 115  # at full width on A4 a letter stays above 10 points
    ruled = [row[0].value for row in sheet.iter_rows(min_row=3) if row[0].border.top.style == "thick"]
    assert [text.split(",")[0] for text in ruled] == [f"STG-1-V{n}" for n in (11, 12, 21, 22, 31, 32)]


def test_a_site_without_a_shaker_is_told_which_table_to_add(site, capsys):
    text = (site / "equipment.toml").read_text(encoding="utf-8")
    (site / "equipment.toml").write_text(text.partition("[[shaker]]")[0], encoding="utf-8")
    assert main(["sheet", str(site / "STG-1" / "2026-06-01")]) == 2
    assert "equipment.toml has no shaker to plan for; add a [[shaker]] table" in capsys.readouterr().err
    assert not (site / "STG-1" / "2026-06-01").exists()
