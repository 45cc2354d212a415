"""A stranger's site: four assets, 14 channels of ten kinds, and an old table of each asset in a form of its own.

The tables are as real ones are: a workbook with a logo row, merged titles, a sheet a channel, units below the headings,
percentages worked out already, a serial date and remarks in the margin; a logger's text with a head block, semicolons,
decimal commas and a degree sign in Windows-1252; an ODS file with levels in columns and numbers as text; a workbook
with channels side by side and speeds filled down. All outputs are a known gain times the nominal sensitivity.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from tests.support.sites.filled_in import fill_in
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.records.new_files.changed import with_values
from vibcal_nb.running.commands.cli import main

DAY = "2026-05-19"
SERIAL = 46161  # the same day as a spreadsheet counts
SPEED_RPM, SPEED_HZ = 2980, 2980 / 60
LOWEST = "[{ from_hz = 0.5, to_hz = 10000, expanded_pct = 1.5, k = 2 }]"
STEPS = (0.1, 0.2, 0.4, 0.7, 1.0)  # parts of the highest level
CHANNELS = {
    "TG-4": {
        "TG-4-C1": ("charge-velocity", 20.0),
        "TG-4-A1": ("constant-current-acceleration", 60.0),
        "TG-4-M1": ("moving-coil-velocity", 20.0),
        "TG-4-P1": ("eddy-current-shaft", 200.0),
        "TG-4-D1": ("double-integration-displacement", 200.0),
    },
    "FN-9": {
        "FN-9-V1": ("loop-velocity", 25.0),
        "FN-9-V2": ("loop-velocity", 25.0),
        "FN-9-B1": ("broadband-iso-2954", 20.0),
    },
    "PU-3": {"PU-3-T1": ("triaxial-acceleration", 50.0)},
    "HY-1": {
        "HY-1-L1": ("low-frequency-hydro", 300.0),
        "HY-1-L2": ("low-frequency-hydro", 300.0),
        "HY-1-U1": ("us-units-velocity", 1.0),
    },
}
TRIP = 0.9  # of the highest level
GAIN = {"FN-9-V2": 1.09, "HY-1-L2": 0.97, "PU-3-T1-Y": 1.004, "PU-3-T1-Z": 0.993}  # of nominal, of the others 1.01


@dataclass(frozen=True)
class OldTable:
    """An old table, the layout that a person made for it, and how many of its numbers are readings."""

    path: Path
    layout: str
    readings: int


def describe(site: Path) -> None:
    """Make the site's files by `new`, and fill them in as a person would."""
    for asset, channels in CHANNELS.items():
        given = [f"--channel={tag}={kind}" for tag, (kind, _) in channels.items()]
        assert main(["new", str(site / asset), *given, "--rotor", "main"]) == 0
    for path in site.rglob("*.toml"):
        fill_in(path, uncertainty=LOWEST)
    for asset in CHANNELS:
        path = site / asset / "asset.toml"
        text = path.read_text(encoding="utf-8")
        for tag in load_asset_folder(path.parent).asset.channels:
            text = with_values(text, ("channels", tag), {"trip": TRIP * top_of(tag)}, file=path.name)
        path.write_text(text, encoding="utf-8")
        assert main(["new", str(path.parent / DAY)]) == 0
        visit = path.parent / DAY / "visit.toml"
        stated = visit.read_text(encoding="utf-8")
        visit.write_text(stated.replace('performed_by = ""', 'performed_by = "Technician A"'), encoding="utf-8")


def top_of(tag: str) -> float:
    """The highest level of a channel."""
    found = {name: top for channels in CHANNELS.values() for name, (_, top) in channels.items()}
    return found.get(tag) or found[tag[:-2]]  # of an axis, that of its sensor


def output_of(channel: Channel, level: float, response: float = 1.0) -> float:
    """What the channel put out on the day, rounded as its display shows it."""
    signal = channel.nominal_sensitivity * GAIN.get(channel.tag, 1.01) * level * response
    return round(channel.output_zero + signal, 3)


def sheet_a_channel(folder: Path, channels: dict[str, Channel]) -> OldTable:
    """A workbook, a sheet a channel, with a line at the running speed and a band at one level."""
    book, readings = openpyxl.Workbook(), 0
    book.remove(book.active)
    for tag, channel in channels.items():
        sheet, top = book.create_sheet(tag.removeprefix("TG-4-")), top_of(tag)
        sheet["A1"] = "INVENTED POWER LTD"
        sheet.merge_cells("A1:F1")
        sheet["A2"], sheet["D2"], sheet["E2"] = "Vibration loop sheet", "Date", SERIAL
        sheet["A4"] = "A. Linearity at running speed"
        sheet.merge_cells("A4:E4")
        sheet.append(["Level", "Output", "Expected", "Dev.", "Remark"])
        sheet.append([channel.input_unit.text, channel.output_unit.text, "", "%", None])
        for step in STEPS:
            level = round(step * top, 3)
            output, nominal = output_of(channel, level), channel.nominal_sensitivity * level
            sheet.append([level, output, nominal, output / nominal - 1.0, None])
            sheet.cell(row=sheet.max_row, column=4).number_format = "0.0%"
        sheet["H9"] = "crane overhead, read again"
        sheet.append([])
        sheet.append(["B. Frequency response"])
        sheet.append(["Freq.", "Level", "Output"])
        sheet.append(["Hz", channel.input_unit.text, channel.output_unit.text])
        for hz, response in band_of(channel):
            sheet.append([hz, 0.2 * top, output_of(channel, 0.2 * top, response)])
            readings += 1
        sheet.append(["checked: D"])
        readings += len(STEPS)
    path = folder / "TG-4 loops.xlsx"
    book.save(path)
    tags = ", ".join(f'"{tag.removeprefix("TG-4-")}"' for tag in channels)
    layout = f"""
[table]
sheets = [{tags}]
day_cell = "E2"
constants = {{ channel = "TG-4-{{sheet}}", condition = "as-found" }}
[[table.part]]
headings_row = 5
units_row = 6
last_row = 11
columns = {{ Level = "applied", Output = "output" }}
constants = {{ test = "linearity", frequency_hz = "{SPEED_HZ:.3f}" }}
stated = {{ "Dev." = "deviation_pct" }}
ignore = {{ Expected = "worked out from the nominal sensitivity" }}
[[table.part]]
headings_row = 14
units_row = 15
columns = {{ "Freq." = "frequency_hz", Level = "applied", Output = "output" }}
constants = {{ test = "band-response" }}
"""
    return OldTable(path=path, layout=layout, readings=readings)


def band_of(channel: Channel) -> list[tuple[float, float]]:
    """Frequencies of a band, six of them, with the response there: half power at the corners."""
    band = channel.band
    assert band is not None and band.flat_hz is not None
    low, high = band.flat_hz
    inner = [(hz, 1.0) for hz in (low, band.reference_hz, (low * high) ** 0.5, high)]
    corners = [(hz, 0.708) for hz in (band.corner_low_hz, band.corner_high_hz) if hz is not None]
    return sorted({round(hz, 2): response for hz, response in [*inner, *corners]}.items())


def logger_text(folder: Path, channels: dict[str, Channel]) -> OldTable:
    """A logger's text: a head block, semicolons, decimal commas, Windows-1252; units stand in cells of their own."""
    head = [
        "Gerät;L-2",
        "Datum;19.05.2026",
        "Temperatur;23,5 °C",
        "",
        "Nr.;Kanal;f [Hz];Pegel;Einheit;Signal;Einheit 2",
    ]
    rows = []
    for tag, channel in channels.items():
        for step in STEPS:
            level = round(step * top_of(tag), 3)
            cells = [len(rows) + 1, tag, f"{SPEED_HZ:.2f}", level, channel.input_unit.text, output_of(channel, level)]
            rows.append(";".join(str(cell).replace(".", ",") for cell in [*cells, channel.output_unit.text]))
    path = folder / "FN-9.csv"
    path.write_bytes("\r\n".join([*head, *rows, ""]).encode("windows-1252"))
    layout = """
[table]
headings_row = 5
decimal = ","
encoding = "windows-1252"
day_cell = "B2"
constants = { test = "linearity", condition = "as-found" }
ignore = { "Nr." = "a running number" }
[table.columns]
Kanal = "channel"
"f [Hz]" = "frequency_hz"
Pegel = "applied"
Einheit = "applied_unit"
Signal = "output"
"Einheit 2" = "output_unit"
"""
    return OldTable(path=path, layout=layout, readings=len(rows))


def levels_in_columns(folder: Path, channels: dict[str, Channel]) -> OldTable:
    """An ODS file: a line an axis, a column a level, outputs in the cells as text with decimal commas."""
    (top,) = {top_of(tag) for tag in channels}
    levels = [round(step * top, 3) for step in STEPS]
    rows: list[list[object]] = [["Invented Power", None, date(2026, 5, 19)], ["axis", *(f"{x:g} m/s2" for x in levels)]]
    for tag, channel in channels.items():
        rows.append([tag[-1], *(f"{output_of(channel, level):.2f}".replace(".", ",") for level in levels)])
    document, table = OpenDocumentSpreadsheet(), Table(name="Tabelle1")
    for cells in rows:
        row = TableRow()
        for value in cells:
            row.addElement(_ods_cell(value))
        table.addElement(row)
    document.spreadsheet.addElement(table)
    path = folder / "PU-3 axes.ods"
    document.save(path)
    wide = ", ".join(f'"{level:g} m/s2" = "{level}"' for level in levels)
    axes = ", ".join(f'{tag[-1]} = "{tag}"' for tag in channels)
    layout = f"""
[table]
headings_row = 2
decimal = ","
day_cell = "C1"
columns = {{ axis = "channel" }}
values = {{ channel = {{ {axes} }} }}
wide = {{ column = "applied", values = {{ {wide} }} }}
[table.constants]
test = "linearity"
condition = "as-found"
frequency_hz = "{SPEED_HZ:.3f}"
applied_unit = "m/s2 pk"
output_unit = "mV pk"
"""
    return OldTable(path=path, layout=layout, readings=len(STEPS) * len(channels))


def _ods_cell(value: object) -> TableCell:
    if value is None:
        return TableCell()
    if isinstance(value, date):
        return TableCell(valuetype="date", datevalue=value.isoformat())
    cell = TableCell(valuetype="string")
    cell.addElement(P(text=str(value)))
    return cell


def side_by_side(folder: Path, channels: dict[str, Channel]) -> OldTable:
    """A workbook with a table a unit, channels side by side, the speed in its first row alone."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "spring"
    sheet["A1"] = "Spring outage, before adjustment"
    sheet.merge_cells("A1:D1")
    parts = []
    for unit in dict.fromkeys(channel.input_unit.text for channel in channels.values()):
        alike = [channel for channel in channels.values() if channel.input_unit.text == unit]
        sheet.append([])
        sheet.append(["Speed", "Step", *(channel.tag.removeprefix("HY-1-") for channel in alike)])
        heading = sheet.max_row
        sheet.append(["rpm", unit, *(channel.output_unit.text for channel in alike)])
        for number, step in enumerate(STEPS):
            level = round(step * top_of(alike[0].tag), 3)
            outputs = [output_of(channel, level) for channel in alike]
            sheet.append([SPEED_RPM if number == 0 else None, level, *outputs])
        names = ", ".join(f'{c.tag.removeprefix("HY-1-")} = "{c.tag}"' for c in alike)
        parts.append(f"""
[[table.part]]
headings_row = {heading}
units_row = {heading + 1}
last_row = {sheet.max_row}
columns = {{ Speed = "frequency_rpm", Step = "applied" }}
fill_down = ["frequency_rpm"]
constants = {{ applied_unit = "{unit}", output_unit = "{alike[0].output_unit.text}" }}
wide = {{ column = "channel", values = {{ {names} }} }}
""")
    path = folder / "HY-1 spring.xlsx"
    book.save(path)
    layout = '[table]\nconstants = { test = "linearity", condition = "as-found" }\n' + "".join(parts)
    return OldTable(path=path, layout=layout, readings=len(STEPS) * len(channels))


FORMS: dict[str, Callable[[Path, dict[str, Channel]], OldTable]] = {
    "TG-4": sheet_a_channel,
    "FN-9": logger_text,
    "PU-3": levels_in_columns,
    "HY-1": side_by_side,
}


def old_table(site: Path, asset: str) -> OldTable:
    """Write the old table of an asset, and its layout beside it."""
    folder = site.parent / "old"
    folder.mkdir(exist_ok=True)
    old = FORMS[asset](folder, dict(load_asset_folder(site / asset).asset.channels))
    (folder / f"{asset}.toml").write_text(old.layout, encoding="utf-8")
    return old


def bring_in(site: Path, asset: str) -> int:
    """Import the old table of an asset into its visit; return the command's exit status."""
    old = old_table(site, asset)
    layout = old.path.parent / f"{asset}.toml"
    return main(["import", str(old.path), "--layout", str(layout), "--visit", str(site / asset / DAY), "--write"])


def change_later(site: Path) -> dict[str, str]:
    """Exchange a sensor, restate a limit, rename a channel, all after the visit; return new names with the old."""
    turbine, pump, fan = (site / name / "asset.toml" for name in ("TG-4", "PU-3", "FN-9"))
    with turbine.open("a", encoding="utf-8") as file:
        file.write(
            '\n[channels.TG-4-C1.items]\nsensor = [{ serial = "S-1", until = 2026-09-01 }, '
            '{ serial = "S-2", since = 2026-09-01, nominal_sensitivity = 5.2 }]\n'
        )
    with pump.open("a", encoding="utf-8") as file:
        file.write("\n[channels.PU-3-T1-X.from.2026-09-01]\ntolerance_pct = 0.5\ntrip = 20.0\n")
    text = fan.read_text(encoding="utf-8")
    heading = "[channels.FN-9-V2]\n"
    fan.write_text(
        text.replace(heading, '[channels.FN-9-V22]\nformerly = "FN-9-V2"\n').replace(heading, ""), encoding="utf-8"
    )
    return {"FN-9-V22": "FN-9-V2"}


def entries(site: Path, *, renamed: dict[str, str]) -> list[str]:
    """Every result of every visit as it is kept, with names of today written as they were, items left out."""
    found = []
    for home in sorted(site.glob(f"*/{DAY}")):
        visit = load_visit(home)
        for tag, test, condition in list_cases(visit):
            entry = result_entry_of(ANALYSE[test](select_case(visit, channel=tag, test=test, condition=condition)))
            for new, old in renamed.items():
                entry = entry.replace(new, old)
            found.append(entry)
    return found


def result_entry_of(result: object) -> str:
    """A result as it is kept; serial numbers that were stated meanwhile are left out."""
    from vibcal_nb.records.quantities.result_entry import result_entry

    entry = result_entry(result)
    for stated in entry["summary"]["sensitivities"]:
        stated["items"] = {}
    return json.dumps(entry, sort_keys=True)
