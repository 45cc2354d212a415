"""`sheet` makes the folder of a new visit, and plans what can be planned of every channel."""

from __future__ import annotations

import shutil
import tomllib
from datetime import date

import openpyxl
import pytest

from tests.support.places import DEMO
from tests.support.sheet_filling import heading_row
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
    assert stated == {"date": date(2026, 6, 1), "performed_by": "", "equipment": ["REF-26", "INJ-26", "DVM-26"]}
    visit = load_visit(site / "STG-1" / "2026-06-01")
    assert visit.is_planned
    assert len(visit.table.open) == len(planned(site / "STG-1" / "2026-06-01")) > 6 * 30


def test_certificates_that_will_have_run_out_are_told_and_not_proposed(site, capsys):
    assert main(["sheet", str(site / "STG-1" / "2026-07-01")]) == 0
    said = capsys.readouterr().out
    assert "The certificate of REF-26 runs out on 2026-06-30, before the planned day 2026-07-01" in said
    assert "No readout is named for the visit" in said
    assert load_visit(site / "STG-1" / "2026-07-01").visit.equipment == ("INJ-26",)
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


def test_relays_are_planned_as_csv_alone(site, capsys):
    assert main(["sheet", str(site / "STG-1" / "2026-06-01"), "--test", "set-point"]) == 2
    assert "give --format csv" in capsys.readouterr().err


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
