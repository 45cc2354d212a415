"""Four old tables as real ones are, each with the layout that reads it; all numbers are from a known gain.

A workbook with a sheet a channel, merged titles, a logo row, units below the headings, percentages already worked out,
two tables on a sheet and remarks in the margin; one with channels side by side below headings that span two columns
and levels filled down; a logger's text with a head block, semicolons, decimal commas and a degree sign in
Windows-1252; and an ODS file with levels in columns, frequencies in rpm and numbers as text.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl.styles import Font

GAIN = {"STG-1-V11": 4.02, "STG-1-V12": 3.95}
LEVELS = (1.0, 2.0, 5.0, 10.0, 15.0)
BAND_HZ = (20, 40, 80, 160, 315, 400)
SHAPE = {20: 0.707, 40: 0.969, 80: 1.0, 160: 0.988, 315: 0.85, 400: 0.707}


@dataclass(frozen=True)
class OldTable:
    path: Path
    layout: str
    readings: int
    left_out: dict[str, str]


def sheet_a_channel(folder: Path) -> OldTable:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for tag, gain in GAIN.items():
        sheet = book.create_sheet(tag.removeprefix("STG-1-"))
        sheet["A1"] = "KESTREL FOLD DISTRICT ENERGY"
        sheet.merge_cells("A1:F1")
        sheet["A1"].font = Font(bold=True, size=16)
        sheet["A2"], sheet["D2"], sheet["E2"] = "Vibration channel check", "Date", 46161
        sheet["A3"], sheet["B3"], sheet["D3"], sheet["E3"] = "Condition", "as received", "Form", 7
        sheet["A5"] = "1. Linearity at 50 Hz"
        sheet.merge_cells("A5:E5")
        sheet.append(["Level", "Output", "Expected", "Dev.", "Remark"])
        sheet.append(["mm/s pk", "mV pk", "mV", "%", None])
        for level in LEVELS:
            output = round(gain * level, 2)
            sheet.append([level, output, 4.0 * level, output / (4.0 * level) - 1.0, None])
            sheet.cell(row=sheet.max_row, column=4).number_format = "0.0%"
        sheet.cell(row=sheet.max_row, column=7, value="reading unsteady, crane passing")
        sheet.append(["Mean dev.", None, None, gain / 4.0 - 1.0])
        sheet.append([])
        sheet.append(["2. Frequency response"])
        sheet.append(["Freq.", "Level", "Output"])
        sheet.append(["Hz", "mm/s pk", "mV pk"])
        for hz in BAND_HZ:
            sheet.append([hz, 5.0, round(gain * 5.0 * SHAPE[hz], 2)])
        sheet.append(["checked: B"])
        sheet["H30"] = 1234
    contents = book.create_sheet("Contents", 0)
    contents["A1"], contents["B1"] = "Sheets", 2
    path = folder / "old sheets.xlsx"
    book.save(path)
    layout = """
[table]
sheets = ["V11", "V12"]
day_cell = "E2"
[table.constants]
channel = "STG-1-{sheet}"
[table.cells]
condition = "B3"
[table.values]
condition = { "as received" = "as-found" }
[[table.part]]
headings_row = 6
units_row = 7
last_row = 12
columns = { Level = "applied", Output = "output" }
constants = { test = "linearity", frequency_hz = "50" }
stated = { "Dev." = "deviation_pct" }
ignore = { Expected = "worked out from the nominal sensitivity" }
[[table.part]]
headings_row = 16
units_row = 17
first_row = 18
last_row = 23
columns = { "Freq." = "frequency_hz", Level = "applied", Output = "output" }
constants = { test = "band-response" }
"""
    left = {
        "E2": "the day of the table: held against that of the visit",
        "E3": "above the headings",
        "C8": "worked out from the nominal sensitivity",
    }
    return OldTable(path=path, layout=layout, readings=2 * (len(LEVELS) + len(BAND_HZ)), left_out=left)


def side_by_side(folder: Path) -> OldTable:
    """Channels side by side: a row of tags that span two columns each, above level and output of each."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "May"
    sheet["A1"] = "Outage 2026, as found"
    sheet["A3"], sheet["B3"], sheet["C3"] = "Speed", "Step", "V11"
    sheet.merge_cells("C3:C3")
    sheet["D3"] = "V12"
    sheet["A4"], sheet["B4"], sheet["C4"], sheet["D4"] = "rpm", "mm/s", "mV", "mV"
    for number, level in enumerate(LEVELS):
        row = [3000 if number == 0 else None, level]
        sheet.append([*row, *(round(gain * level, 2) for gain in GAIN.values())])
    sheet["F6"] = "cable of V12 moved here"
    path = folder / "side by side.xlsx"
    book.save(path)
    layout = """
[table]
headings_row = 3
units_row = 4
columns = { Speed = "frequency_rpm", Step = "applied" }
fill_down = ["frequency_rpm"]
constants = { test = "linearity", condition = "as-found", applied_unit = "mm/s pk", output_unit = "mV pk" }
wide = { column = "channel", values = { V11 = "STG-1-V11", V12 = "STG-1-V12" } }
"""
    return OldTable(path=path, layout=layout, readings=2 * len(LEVELS), left_out={})


def logger_text(folder: Path) -> OldTable:
    """A logger's text: a head block with numbers, semicolons, decimal commas, a degree sign, Windows-1252."""
    head = [
        "Messprotokoll;Gerät 7",
        "Datum;19.05.2026",
        "Temperatur;23,5 °C",
        "Prüfer;Technician A",
        "",
        "Nr.;Kanal;Frequenz [Hz];Pegel [mm/s];Ausgang [mV];Abw. [%];Bemerkung",
    ]
    rows = []
    for level in LEVELS:
        output = round(GAIN["STG-1-V11"] * level, 2)
        number = len(rows) + 1
        deviation = 100.0 * (output / (4.0 * level) - 1.0)
        cells = [
            number,
            "V11",
            "50,00",
            f"{level:.2f}",
            f"{output:.2f}",
            f"{deviation:.1f}",
            "instabil" * (level == 5.0),
        ]
        rows.append(";".join(str(cell).replace(".", ",") for cell in cells))
    path = folder / "logger.csv"
    path.write_bytes("\r\n".join([*head, *rows, "Ende der Messung;5", ""]).encode("windows-1252"))
    layout = """
[table]
headings_row = 6
decimal = ","
encoding = "windows-1252"
day_cell = "B2"
constants = { test = "linearity", condition = "as-found", applied_unit = "mm/s pk", output_unit = "mV pk" }
values = { channel = { V11 = "STG-1-V11" } }
stated = { "Abw. [%]" = "deviation_pct" }
ignore = { "Nr." = "a running number" }
[table.columns]
Kanal = "channel"
"Frequenz [Hz]" = "frequency_hz"
"Pegel [mm/s]" = "applied"
"Ausgang [mV]" = "output"
Bemerkung = "note"
"""
    left = {"B3": "above the headings", "A7": "a running number", "B12": "row 12 holds no level or output"}
    return OldTable(path=path, layout=layout, readings=len(LEVELS), left_out=left)


def levels_in_columns(folder: Path) -> OldTable:
    """An ODS file: a line a speed, a column a level, outputs in the cells; numbers as text with decimal commas."""
    rows: list[list[object]] = [
        ["Kestrel Fold", None, None],
        ["V12 linearity as left", None, date(2026, 5, 19)],
        ["rpm", *(f"{level:g} mm/s" for level in LEVELS), "checked by"],
    ]
    for rpm, factor in ((3000, 1.0), (8940, 1.004)):
        outputs = [f"{GAIN['STG-1-V12'] * level * factor:.2f}".replace(".", ",") for level in LEVELS]
        rows.append([rpm, *outputs, "D"])
    document = OpenDocumentSpreadsheet()
    table = Table(name="Blatt1")
    for cells in rows:
        row = TableRow()
        for value in cells:
            row.addElement(_ods_cell(value))
        table.addElement(row)
    document.spreadsheet.addElement(table)
    path = folder / "levels.ods"
    document.save(path)
    wide = ", ".join(f'"{level:g} mm/s" = "{level:.1f}"' for level in LEVELS)
    layout = f"""
[table]
headings_row = 3
decimal = ","
day_cell = "C2"
columns = {{ rpm = "frequency_rpm" }}
wide = {{ column = "applied", values = {{ {wide} }} }}
[table.constants]
channel = "STG-1-V12"
test = "linearity"
condition = "as-left"
applied_unit = "mm/s pk"
output_unit = "mV pk"
"""
    return OldTable(path=path, layout=layout, readings=2 * len(LEVELS), left_out={})


def _ods_cell(value: object) -> TableCell:
    if value is None:
        return TableCell()
    if isinstance(value, date):
        return TableCell(valuetype="date", datevalue=value.isoformat())
    if isinstance(value, int):
        return TableCell(valuetype="float", value=value)
    cell = TableCell(valuetype="string")
    cell.addElement(P(text=str(value)))
    return cell


ALL = (sheet_a_channel, side_by_side, logger_text, levels_in_columns)

ASSET = """
[asset]
tag = "STG-1"
[rotors]
turbine = { speed_rpm = 3000 }
pinion = { speed_rpm = 8940 }
""" + "".join(
    f"""
[channels.{tag}]
rotors = ["turbine", "pinion"]
input_unit = "mm/s pk"
output_unit = "mV pk"
nominal_sensitivity = 4.0
tolerance_pct = 5.0
alert = 11.0
trip = 18.0
[channels.{tag}.band]
reference_hz = 80
flat_hz = [40, 200]
flat_pct = 5.0
corner_low_hz = 20
corner_high_hz = 400
"""
    for tag in GAIN
)
