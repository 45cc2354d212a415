"""The limits beside each row of a sheet follow level, unit, detector and row, as a spreadsheet works them out."""

from __future__ import annotations

import math
import shutil
import subprocess

import openpyxl
import pint
import pytest

from tests.support.places import DEMO
from tests.support.sites.sheet_filling import heading_row
from tests.support.sites.worked_out import WorkedOut
from vibcal_nb.records.reading_table.sheet_limits import factor_of, kind_of
from vibcal_nb.running.commands.cli import main
from vibcal_nb.units import is_convertible, parse_unit, unit_texts

UNITS = [parse_unit(text) for text in unit_texts()]
PINT = pint.UnitRegistry()
NAMES = {"m/s2": "m/s**2", "g": "standard_gravity", "in": "inch", "in/s": "inch/s", "mil": "thou"}
SI = {"acceleration": "m/s**2", "velocity": "m/s", "displacement": "m", "voltage": "V", "current": "A", "charge": "pC"}
PEAK = {"pk": 1.0, "rms": math.sqrt(2.0), "pkpk": 0.5, "dc": 1.0}  # of a sine


@pytest.mark.parametrize("unit", UNITS, ids=str)
def test_the_factor_of_a_unit_is_that_of_a_reference_library_and_of_a_sine(unit):
    expected = PINT.Quantity(1.0, NAMES.get(unit.symbol, unit.symbol)).to(SI[unit.quantity]).magnitude
    assert factor_of(unit) == pytest.approx(expected * PEAK[unit.detector], rel=1e-12)


def test_units_of_one_kind_convert_and_of_two_do_not():
    for one in UNITS:
        for other in UNITS:
            assert (kind_of(one) == kind_of(other)) == is_convertible(one, other)


@pytest.fixture(scope="module", params=["library", "soffice"])
def worked_out(request, tmp_path_factory):
    """A sheet whose first rows were filled in other units and detectors, and one of them read again below.

    A library works the formulas out everywhere, a spreadsheet program where there is one.
    """
    if request.param == "soffice" and shutil.which("soffice") is None:
        pytest.skip("no spreadsheet program is here to work the formulas out")
    folder = tmp_path_factory.mktemp("sheet")
    for name in ("equipment.toml", "kinds.toml", "FDF-3/asset.toml", "STG-1/asset.toml"):
        (folder / name).parent.mkdir(exist_ok=True)
        shutil.copy(DEMO / name, folder / name)
    found = {}
    for asset, day in (("STG-1", "2026-06-01"), ("FDF-3", "2026-06-01")):
        assert main(["sheet", str(folder / asset / day)]) == 0
        found[asset] = _worked_out(folder, folder / asset / day / "readings.xlsx", *FILLED[asset], by=request.param)
    return found


RMS = math.sqrt(0.5)
WORKED_OUT = ("lowest", "expected", "highest", "outside")
FILLED = {
    "STG-1": (
        [
            {"applied": 2.0, "output": 8.0},
            {"applied": 5.0 * RMS, "applied_unit": "mm/s rms", "output": 20.0 * RMS, "output_unit": "mV rms"},
            {"applied": 10.0 * 2.0 * math.pi * 50.0 / 1000.0, "applied_unit": "m/s2 pk", "output": 44.0},
            {"frequency_hz": 60, "applied": 11.0, "output": 44.0},
            {"applied": 15.0, "applied_unit": "mV pk", "output": 60.0},
            {"output": 72.0},
            {},
        ],
        {"frequency_hz": 50.2, "applied": 19.9, "applied_unit": "mm/s pk", "output": 90.0, "output_unit": "mV pk"},
    ),
    "FDF-3": ([{"applied": 1.0, "output": 4.75}, {"applied": 5.0, "output": 0.00725, "output_unit": "A dc"}], {}),
}


def _worked_out(folder, path, first, again, *, by):
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    top = heading_row(sheet)
    columns = {sheet.cell(row=top, column=c).value: c for c in range(1, sheet.max_column + 1)}
    for number, cells in enumerate(first, start=top + 1):
        for name, value in cells.items():
            sheet.cell(row=number, column=columns[name], value=value)
    spare = next(row for row in range(top + 1, sheet.max_row + 1) if not sheet.cell(row=row, column=1).value)
    for name, value in ({"channel": "STG-1-V11", "test": "linearity", "condition": "as-found"} | again).items():
        sheet.cell(row=spare, column=columns[name], value=value)
    rows = [*range(top + 1, top + 1 + len(first)), spare]
    if by == "library":
        worked = WorkedOut(book)
        return [{name: worked.value(sheet.title, row, columns[name]) for name in WORKED_OUT} for row in rows]
    book.save(folder / "filled.xlsx")
    command = ["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to"]
    command += ["xlsx:Calc MS Excel 2007 XML", "--outdir", str(folder / "out"), str(folder / "filled.xlsx")]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    values = openpyxl.load_workbook(folder / "out" / "filled.xlsx", data_only=True).worksheets[0]
    return [{name: values.cell(row=row, column=columns[name]).value for name in WORKED_OUT} for row in rows]


def test_within_its_limits_a_row_says_nothing(worked_out):
    row = worked_out["STG-1"][0]
    assert (row["lowest"], row["expected"], row["highest"]) == pytest.approx((7.6, 8.0, 8.4))
    assert not row["outside"]


def test_limits_follow_another_detector_on_either_side(worked_out):
    row = worked_out["STG-1"][1]
    assert row["expected"] == pytest.approx(20.0 * RMS)
    assert not row["outside"]


def test_limits_follow_another_quantity_at_the_rows_frequency(worked_out):
    row = worked_out["STG-1"][2]  # 10 mm/s, at 10 % more output than 4 mV/(mm/s)
    assert (row["lowest"], row["highest"]) == pytest.approx((38.0, 42.0))
    assert row["outside"] == "OUTSIDE"


@pytest.mark.parametrize("place", [3, 4], ids=["a frequency that is not planned", "a unit that cannot be"])
def test_where_nothing_is_planned_there_is_no_limit(worked_out, place):
    row = worked_out["STG-1"][place]
    assert not row["expected"]
    assert row["outside"] == "no limits"


def test_an_output_without_its_level_is_asked_about(worked_out):
    assert worked_out["STG-1"][5]["outside"] == "applied?"


def test_a_reading_taken_again_has_its_limits_and_marks_the_row_that_it_stands_for(worked_out):
    *_, blank, again = worked_out["STG-1"]
    assert blank["outside"] == "read again"
    assert again["expected"] == pytest.approx(79.6)
    assert again["outside"] == "OUTSIDE"


def test_a_live_zero_and_a_tolerance_of_the_larger_part_are_worked_out(worked_out):
    """± the larger of 5 % of reading and 0.5 % of 25 mm/s: at 1 mm/s 0.125, at 5 mm/s 0.25 mm/s; 0.64 mA/(mm/s)."""
    first, second, *_ = worked_out["FDF-3"]
    assert (first["lowest"], first["highest"]) == pytest.approx((4.64 - 0.08, 4.64 + 0.08))
    assert first["outside"] == "OUTSIDE"
    assert (second["lowest"], second["highest"]) == pytest.approx((0.0072 - 0.00016, 0.0072 + 0.00016))
    assert not second["outside"]
