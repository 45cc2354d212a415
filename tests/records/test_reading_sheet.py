"""A sheet made for a channel, filled in by a script, comes back as readings; half-filled too."""

from __future__ import annotations

import re
import shutil

import openpyxl
import pytest

from tests.support.places import DEMO
from tests.support.sites.sheet_filling import fill_sheet, heading_row
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.running.commands.cli import main


@pytest.fixture
def site(tmp_path):
    """The demo site with one more visit that has no readings yet, and certificates that hold on its day."""
    for name in ("equipment.toml", "kinds.toml", "STG-1/asset.toml", "FDF-3/asset.toml", "BFP-2/asset.toml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(DEMO / name, tmp_path / name)
    valid = (tmp_path / "equipment.toml").read_text(encoding="utf-8").replace("due = 2026-06-30", "due = 2027-06-30")
    (tmp_path / "equipment.toml").write_text(valid, encoding="utf-8")
    for tag, visit in (("STG-1", "2026-05-19"), ("FDF-3", "2026-05-05"), ("BFP-2", "2026-04-21")):
        (tmp_path / tag / "2027-05-11").mkdir()
        text = (DEMO / tag / visit / "visit.toml").read_text(encoding="utf-8").replace(visit, "2027-05-11")
        (tmp_path / tag / "2027-05-11" / "visit.toml").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("tag", ["STG-1", "FDF-3", "BFP-2"])
def test_a_filled_sheet_comes_back_as_it_was_filled(site, tag, capsys):
    visit = site / tag / "2027-05-11"
    assert main(["sheet", str(visit)]) == 0
    filled = fill_sheet(visit / "readings.xlsx", gain=lambda cells: 1.02)
    table = load_visit(visit).table
    assert [(r.row, r.applied, r.output) for r in table.readings] == filled
    assert table.pending == ()
    channel = next(iter(load_visit(visit).asset.channels))
    result = analyse_linearity(select_case(load_visit(visit), channel=channel, test="linearity", condition="as-found"))
    assert result.verdict == "pass"
    assert result.frequencies[0].line.deviation_pct == pytest.approx(2.0, abs=0.05)


def test_a_half_filled_sheet_is_read_as_far_as_it_goes(site, capsys):
    visit = site / "STG-1" / "2027-05-11"
    main(["sheet", str(visit)])
    assert main(["check", str(visit)]) == 0
    assert "planned for 2027-05-11, 220 rows to read" in capsys.readouterr().out
    fill_sheet(visit / "readings.xlsx", gain=lambda cells: 1.0, skip=lambda cells: cells["test"] != "linearity")
    assert main(["check", str(visit)]) == 0
    said = capsys.readouterr().out
    assert re.search(r"\d+ readings of 6 channels", said)
    assert re.search(r"readings.xlsx: 172 rows have no output and are not yet read \(rows \d", said)


def test_csv_goes_the_same_way(site, capsys):
    visit = site / "BFP-2" / "2027-05-11"
    assert main(["sheet", str(visit), "--format", "csv", "--channel", "BFP-2-A11", "--test", "linearity"]) == 0
    lines = (visit / "readings.csv").read_text(encoding="utf-8-sig").splitlines()
    top = next(n for n, line in enumerate(lines) if line.startswith("channel"))
    assert all(line.startswith(("#", '"#')) for line in lines[:top])
    headings = lines[top].split(",")
    rows = [dict(zip(headings, line.split(","), strict=True)) for line in lines[top + 1 :]]
    for row in rows:
        row["applied"], row["output"] = row["planned"], row["expected"]
    (visit / "readings.csv").write_text(
        "\n".join([*lines[: top + 1], *(",".join(row.values()) for row in rows)]), encoding="utf-8"
    )
    table = load_visit(visit).table
    assert len(table.readings) == len(rows) == 7
    assert table.readings[0].output == pytest.approx(10.2 * table.readings[0].applied, rel=1e-3)


def test_the_sheet_helps_the_one_who_fills_it_in(site, tmp_path, capsys):
    assert main(["sheet", str(site / "STG-1"), "--out", str(tmp_path / "out")]) == 0
    assert "trip at 149 Hz (pinion) will stay unverified" in capsys.readouterr().out
    book = openpyxl.load_workbook(tmp_path / "out" / "STG-1" / "readings.xlsx")
    sheet = book.worksheets[0]
    top = heading_row(sheet)
    assert "permit and procedure" in sheet["A2"].value
    assert sheet.freeze_panes == f"E{top + 1}"
    columns = {sheet.cell(row=top, column=c).value: c for c in range(1, sheet.max_column + 1)}
    locked = {name: sheet.cell(row=top + 1, column=c).protection.locked for name, c in columns.items()}
    assert sheet.protection.sheet
    assert all(locked[name] for name in ("planned", "lowest", "expected", "highest", "channel", "test"))
    changed_on_the_day = ("frequency_hz", "applied_unit", "output_unit")
    assert not any(locked[name] for name in (*changed_on_the_day, "applied", "output", "note", "exclude"))
    kinds = sorted((rule.type, rule.errorStyle) for rule in sheet.data_validations.dataValidation)
    assert kinds.count(("decimal", "warning")) == 2
    assert kinds.count(("list", None)) == 6
    assert len(sheet.conditional_formatting) == 2
    visible = [each.title for each in book.worksheets if each.sheet_state == "visible"]
    assert visible == ["readings", "to print", "stays unverified"]
    gaps = book["stays unverified"]
    assert "would cover it" in gaps["A1"].value
    assert "STG-1-V21, STG-1-V22, STG-1-V32: alert" in gaps["A2"].value  # V31 has another sensor


def test_a_table_that_is_there_is_never_overwritten(site, capsys):
    visit = site / "STG-1" / "2027-05-11"
    (visit / "readings.csv").write_text("mine", encoding="utf-8")
    assert main(["sheet", str(visit)]) == 2
    assert "is not overwritten" in capsys.readouterr().err
    assert (visit / "readings.csv").read_text(encoding="utf-8") == "mine"
    assert not (visit / "readings.xlsx").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--shaker", "SHK-9"], "There is no shaker 'SHK-9' in equipment.toml; it has SHK-1, SHK-2"),
        (["--channel", "V9"], "There is no channel 'V9'; known are STG-1-V11"),
        (
            ["--test", "linear"],
            "No test 'linear' can be planned; give one of linearity, band-response, sensor-alone",
        ),
        (["--moving-mass", "-1"], "give 0 or more"),
    ],
)
def test_what_cannot_be_planned_is_refused_in_a_sentence(site, arguments, said, capsys):
    visit = site / "STG-1" / "2027-05-11"
    assert main(["sheet", str(visit), *arguments]) == 2
    assert said in capsys.readouterr().err
    assert [p.name for p in visit.iterdir()] == ["visit.toml"]
