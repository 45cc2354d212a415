"""A small invented site in a temporary folder, to try inputs and analyses on."""

from __future__ import annotations

from pathlib import Path

EQUIPMENT = """
[[reference]]
id = "REF-1"
kind = "reference accelerometer"
serial = "R1"
calibrated = 2026-01-10
due = 2027-01-10
uncertainty = [{ from_hz = 5, to_hz = 10000, expanded_pct = 1.5, k = 2 }]
[[readout]]
id = "DVM-1"
kind = "voltmeter"
serial = "D1"
calibrated = 2026-01-10
due = 2027-01-10
expanded_pct = 0.2
k = 2
"""
ASSET = """
[asset]
tag = "STG-1"
name = "turbine"
[rotors]
turbine = { speed_rpm = 3000 }
[channels.STG-1-V11]
rotors = ["turbine"]
input_unit = "mm/s pk"
output_unit = "mV pk"
nominal_sensitivity = 4.0
tolerance_pct = 5.0
nonlinearity_pct = 2.0
alert = 11.0
trip = 18.0
[channels.STG-1-V11.band]
reference_hz = 80
flat_hz = [40, 200]
flat_pct = 5.0
corner_low_hz = 20
corner_high_hz = 400
[channels.STG-1-V11.sensor]
input_unit = "m/s2 pk"
output_unit = "pC pk"
nominal_sensitivity = 5.0
tolerance_pct = 5.0
reference_hz = 80
flat_hz = [20, 400]
flat_pct = 5.0
"""
VISIT = 'date = 2026-05-19\nperformed_by = "Technician A"\nequipment = ["REF-1", "DVM-1"]\n'
HEADINGS = "channel,test,condition,frequency_hz,applied,applied_unit,output,output_unit,direction,repeat,exclude,note"

# Ten rows with one mistake each, by the column that it stands in.
TEN_MISTAKES = {
    "channel": "STG-1-V1,linearity,as-found,50,2,mm/s pk,8,mV pk,,,,",
    "test": "STG-1-V11,linearty,as-found,50,2,mm/s pk,8,mV pk,,,,",
    "condition": "STG-1-V11,linearity,found,50,2,mm/s pk,8,mV pk,,,,",
    "frequency_hz": "STG-1-V11,linearity,as-found,-50,2,mm/s pk,8,mV pk,,,,",
    "applied": 'STG-1-V11,linearity,as-found,50,"1,234.5",mm/s pk,8,mV pk,,,,',
    "applied_unit": "STG-1-V11,linearity,as-found,50,2,mm/s,8,mV pk,,,,",
    "output": "STG-1-V11,linearity,as-found,50,2,mm/s pk,1e400,mV pk,,,,",
    "output_unit": "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mA dc,,,,",
    "direction": "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mV pk,sideways,,,",
    "repeat": "STG-1-V11,linearity,as-found,50,2,mm/s pk,8,mV pk,,0.5,,",
}


def linearity_rows(levels=(2.01, 5.02, 10.03, 15.01, 20.01), *, gain=4.05, hz=50, condition="as-found"):
    return [f"STG-1-V11,linearity,{condition},{hz},{x},mm/s pk,{gain * x:.3f},mV pk,,,," for x in levels]


def build_site(folder: Path, rows, *, visit=VISIT, asset=ASSET, equipment=EQUIPMENT, headings=HEADINGS) -> Path:
    """Write the site and return the visit's folder."""
    home = folder / "STG-1" / "2026-05-19"
    home.mkdir(parents=True, exist_ok=True)
    (folder / "equipment.toml").write_text(equipment, encoding="utf-8")
    (folder / "STG-1" / "asset.toml").write_text(asset, encoding="utf-8")
    (home / "visit.toml").write_text(visit, encoding="utf-8")
    (home / "readings.csv").write_text("\n".join([headings, *rows]) + "\n", encoding="utf-8")
    return home
