"""A small invented site whose files have every table that there is."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.support.sites.plants import ASSET, EQUIPMENT, VISIT

RICH_ASSET = (
    ASSET.replace("trip = 18.0", "trip = 18.0\nfull_scale = 25.0\nmoving_mass_kg = 4.7").replace(
        "corner_high_hz = 400", "corner_high_hz = 400\nlimits = [{ hz = 300, min_pct = 75, max_pct = 105 }]"
    )
    + """hot = [{ c = 400, min_pct = -5, max_pct = 10 }]
[channels.STG-1-V11.module]
input_unit = "pC pk"
output_unit = "mV pk"
nominal_sensitivity = 1.5915
tolerance_pct = 5.0
reference_hz = 80
[channels.STG-1-V11.gap_curve]
input_unit = "mm"
output_unit = "V dc"
nominal_sensitivity = -7.87
[channels.STG-1-L1]
input_unit = "mm/s rms"
output_unit = "mA dc"
nominal_sensitivity = 0.64
output_zero = 4.0
full_scale = 25.0
tolerance = { span_pct = 1.0 }
zero = { tolerance_span_pct = 0.5 }
[channels.STG-1-V11.items]
sensor = { serial = "S-1041" }
cable = { length_m = 12 }
converter = { serial = "C-118" }
monitor = { slot = "3/1" }
[channels.STG-1-V11.indication]
unit = "mm/s rms"
full_scale = 25
display_step = 0.1
tolerance = { span_pct = 1.0 }
[channels.STG-1-V11.set_points.trip]
tolerance = { reading_pct = 5.0 }
delay_s = [0.8, 1.2]
latching = true
[channels.STG-1-V11.electrical.bias]
unit = "V"
min = 8
max = 12
[channels.STG-1-V11.from.2025-04-29]
trip = 17.5
[channels.STG-1-V11.phase]
polarity = "+"
delay_ms = [-0.1, 0.1]
limits = [{ hz = 80, min_deg = -10, max_deg = 15 }]
[channels.STG-1-V11.sensor.phase]
polarity = "+"
delay_ms = [-0.1, 0.1]
limits = [{ hz = 80, min_deg = -10, max_deg = 15 }]
[kinds.unused]
alert = 11.0
[groups.bearing-1]
logic = "1oo1"
channels = ["STG-1-V11"]
set_point = "trip"
"""
)
RICH_EQUIPMENT = (
    EQUIPMENT
    + """expanded_span_pct = 0.02
span = 20
span_unit = "mA dc"
[[reference]]
id = "MIC-1"
quantity = "displacement"
calibrated = 2026-01-10
due = 2027-01-10
expanded_um = 2.0
k = 2
[[reference]]
id = "ACC-1"
calibrated = 2026-01-10
due = 2027-01-10
[reference.sensitivity]
unit = "pC/(m/s2)"
correlation = 0.6
table = [
  { hz = 10, value = 10.0, expanded_pct = 0.8, k = 2, phase_deg = 0.0, phase_expanded_deg = 0.5 },
  { hz = 400, value = 10.1, expanded_pct = 0.8, k = 2, phase_deg = 0.1, phase_expanded_deg = 0.5 },
]
[[shaker]]
id = "SHK-1"
force_n = 45
"""
)
RICH_VISIT = (
    VISIT
    + """
[decision]
rule = "guarded"
[columns]
"Freq" = "standard_uncertainty_pct"
[contributions.mounting]
value_pct = 0.3
[inhibit]
permit = "PTW-1"
channels = ["STG-1-V11"]
off = "08:30"
on = "11:05"
by = "Technician A"
told = "control room"
logic = "2oo3 became 1oo2"
[return_to_service]
by = "Technician A"
at = 11:20:00
checks = ["Trip path proved."]
[table]
[[table.part]]
wide = { column = "repeat", values = { "output" = "1" } }
"""
)
RICH_SITE = """
country = "GB"
place = "customer"
[laboratory]
name = "Calibration group"
[customer]
name = "Works"
[review]
same_person = false
reviewers = ["Engineer D"]
"""
RICH_WAVEFORMS = """
[[waveform]]
file = "one.npz"
channel = "STG-1-V11"
reference = { track = "reference", scale = 1.0, unit = "m/s2 pk" }
output = { track = "output", scale = 1.0, unit = "mV pk" }
sampling_hz = 1000
"""


def write_signals(home: Path) -> None:
    """Write the file of signals that RICH_WAVEFORMS names."""
    t = np.arange(1000) / 1000.0
    (home / "waveforms").mkdir(exist_ok=True)
    sine = np.sin(2.0 * np.pi * 50.0 * t)
    np.savez(home / "waveforms" / "one.npz", reference=sine, output=4.0 * sine)
