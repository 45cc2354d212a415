"""The invented site: its assets and what their channels should do, its visits and its equipment."""

from __future__ import annotations

from dataclasses import dataclass, field

FIRST_LINE = "# Kestrel Fold district-energy plant: invented site, people and equipment.\n"


@dataclass(frozen=True, kw_only=True)
class Table:
    """How a visit's reading table was written."""

    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    workbook: bool = False
    headings: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, kw_only=True)
class VisitPlan:
    """A visit: its day, people and table; ``cycles`` takes linearity rising and falling, twice.

    ``injected`` names the channels whose module was tested by itself, with charge injected in place of the sensor.
    """

    day: str
    performed_by: str
    ambient_c: float
    table: Table
    cycles: bool = False
    rule: str = 'rule = "simple"'
    note: str = ""
    injected: tuple[str, ...] = ()

    @property
    def year(self) -> int:
        """Year, which tells the equipment's certificates apart."""
        return int(self.day[:4])


@dataclass(frozen=True, kw_only=True)
class AssetPlan:
    """An asset: its channels' common specification and how they are tested.

    ``kind`` names what the channels share, ``restated`` is what that restates later; ``own`` is what a channel restates
    by itself, ``installed`` what all channels' items have alike, by part; ``renamed`` says which channels had another
    tag, and until which year; ``retired`` are channels that are no longer there.
    """

    tag: str
    name: str
    kind: str
    rotors: dict[str, float]
    channels: dict[str, tuple[str, tuple[str, ...]]]
    units: tuple[str, str]
    nominal: float
    zero: float
    decimals: int
    specification: str
    band: str
    reference_hz: float
    corners_hz: tuple[float, float]
    span_hz: tuple[float, float]
    band_level: float
    levels: dict[str, tuple[float, ...]]
    full_scale: float
    resonance_hz: float
    sensor: str | None = None
    sensor_units: tuple[str, str] = ("", "")
    sensor_nominal: float = 0.0
    sensor_level: float = 0.0
    sensor_hz: tuple[float, ...] = ()
    module: str | None = None
    module_levels: tuple[float, ...] = ()
    restated: str = ""
    own: dict[str, str] = field(default_factory=dict)
    installed: dict[str, str] = field(default_factory=dict)
    renamed: dict[str, tuple[str, int]] = field(default_factory=dict)
    retired: str = ""
    visits: tuple[VisitPlan, ...] = ()


STG = AssetPlan(
    tag="STG-1",
    name="Back-pressure steam turbine generator",
    kind="casing-velocity",
    rotors={"turbine": 3000, "pinion": 8940},
    channels={
        "V11": ("Turbine front bearing, vertical", ("turbine",)),
        "V12": ("Turbine front bearing, horizontal", ("turbine",)),
        "V21": ("Coupling-side bearing, vertical", ("turbine", "pinion")),
        "V22": ("Coupling-side bearing, horizontal", ("turbine", "pinion")),
        "V31": ("Pinion bearing, vertical", ("pinion",)),
        "V32": ("Pinion bearing, horizontal", ("pinion",)),
    },
    units=("mm/s pk", "mV pk"),
    nominal=4.0,
    zero=0.0,
    decimals=2,
    specification="tolerance_pct = 5.0\nnonlinearity_pct = 2.0\nalert = 11.0\ntrip = 18.0\nfull_scale = 25.0\n"
    "moving_mass_kg = 4.7\n",
    band="reference_hz = 80\nflat_hz = [40, 200]\nflat_pct = 5.0\ncorner_low_hz = 20\ncorner_high_hz = 400\n"
    'filter = "butterworth"\n'
    "corner_db = [-4.0, -2.0]\nlimits = [{ hz = 300, min_pct = 82, max_pct = 92 }]\n",
    reference_hz=80.0,
    corners_hz=(20.0, 400.0),
    span_hz=(10.0, 650.0),
    band_level=2.0,
    levels={"turbine": (1.0, 2.0, 5.0, 9.0, 14.0, 18.0, 20.0), "pinion": (1.0, 2.0, 4.0, 6.0, 7.5, 9.0)},
    full_scale=25.0,
    resonance_hz=9000.0,
    sensor="nominal_sensitivity = 5.0\ntolerance_pct = 5.0\nreference_hz = 80\nflat_hz = [20, 400]\nflat_pct = 5.0\n",
    sensor_units=("m/s2 pk", "pC pk"),
    sensor_nominal=5.0,
    sensor_level=5.0,
    sensor_hz=(20, 30, 50, 80, 100, 149, 200, 250, 315, 400),
    # at 80 Hz: 4 mV/(mm/s) over 5 pC/(m/s2) x 2 pi 80 Hz / 1000
    module='input_unit = "pC pk"\noutput_unit = "mV pk"\nnominal_sensitivity = 1.5915\ntolerance_pct = 5.0\n'
    "reference_hz = 80\n",
    module_levels=(2.0, 6.0, 11.0, 15.0, 18.0, 22.0),
    # the converter was set to the new sensor: at 80 Hz 4 mV/(mm/s) over 5.2 pC/(m/s2) x 2 pi 80 Hz / 1000
    own={"V31": "[channels.STG-1-V31.from.2025-05-06.module]\nnominal_sensitivity = 1.5303\n"},
    installed={
        "sensor": 'type = "high-temperature charge sensor"',
        "cable": 'type = "hardline", length_m = 6',
        "converter": 'type = "charge converter with velocity output"',
        "monitor": 'type = "two-channel monitor"',
    },
    visits=(
        VisitPlan(day="2024-05-21", performed_by="Technician A", ambient_c=22.5, table=Table()),
        VisitPlan(day="2025-04-29", performed_by="Technician B", ambient_c=19.0, table=Table(workbook=True)),
        VisitPlan(
            day="2026-05-19",
            performed_by="Technician A",
            ambient_c=23.0,
            table=Table(),
            cycles=True,
            injected=("V12", "V22", "V31"),
        ),
    ),
)

FDF = AssetPlan(
    tag="FDF-3",
    name="Forced-draught fan",
    kind="fan-transmitter",
    rotors={"fan": 1485},
    channels={
        "V11": ("Motor drive-end bearing, horizontal", ("fan",)),
        "V12": ("Motor far-end bearing, horizontal", ("fan",)),
        "V21": ("Fan drive-end bearing, horizontal", ("fan",)),
        "V22": ("Fan far-end bearing, horizontal", ("fan",)),
    },
    units=("mm/s rms", "mA dc"),
    nominal=0.64,
    zero=4.0,
    decimals=3,
    specification="tolerance_pct = 5.0\nnonlinearity_pct = 2.0\nalert = 7.1\ntrip = 11.0\nfull_scale = 25.0\n"
    "moving_mass_kg = 0.35\n",
    band="reference_hz = 80\nflat_hz = [20, 500]\nflat_pct = 5.0\ncorner_low_hz = 10\ncorner_high_hz = 1000\n"
    "corner_db = [-4.0, -2.0]\n",
    reference_hz=80.0,
    corners_hz=(10.0, 1000.0),
    span_hz=(6.0, 1600.0),
    band_level=4.0,
    levels={"fan": (1.5, 4.0, 7.0, 11.0, 16.0, 20.0)},
    full_scale=25.0,
    resonance_hz=15000.0,
    restated="[fan-transmitter.from.2025-01-01]\n"
    'tolerance = { reading_pct = 5.0, span_pct = 0.5, rule = "larger" }\nzero = { tolerance_span_pct = 0.5 }\n',
    installed={"sensor": 'type = "loop-powered velocity transmitter"'},
    retired='\n[channels.FDF-3-V31]\nkind = "fan-transmitter"\nlocation = "Coupling guard, horizontal"\n'
    'rotors = ["fan"]\nretired = 2023-11-30\n',
    visits=(
        VisitPlan(day="2024-05-07", performed_by="Technician B", ambient_c=17.5, table=Table(separator="\t")),
        VisitPlan(day="2025-06-17", performed_by="Technician C", ambient_c=24.5, table=Table()),
        VisitPlan(
            day="2026-05-05",
            performed_by="Technician A",
            ambient_c=18.0,
            table=Table(separator=";", decimal=","),
            rule='rule = "guarded"\nr = 1.0',
        ),
    ),
)

BFP = AssetPlan(
    tag="BFP-2",
    name="Boiler feed pump",
    kind="pump-acceleration",
    rotors={"motor": 2980, "pump": 5860},
    channels={
        "A11": ("Motor drive-end bearing, vertical", ("motor",)),
        "A12": ("Gear casing, motor side, vertical", ("motor", "pump")),
        "A21": ("Gear casing, pump side, vertical", ("motor", "pump")),
        "A22": ("Pump far-end bearing, vertical", ("pump",)),
    },
    units=("m/s2 pk", "mV pk"),
    nominal=10.2,
    zero=0.0,
    decimals=2,
    specification="tolerance_pct = 5.0\nnonlinearity_pct = 2.0\nalert = 30.0\ntrip = 50.0\nfull_scale = 100.0\n"
    "moving_mass_kg = 0.12\n",
    band="reference_hz = 80\nflat_hz = [10, 2000]\nflat_pct = 5.0\ncorner_low_hz = 2\ncorner_high_hz = 5000\n"
    "corner_db = [-4.0, -2.0]\n",
    reference_hz=80.0,
    corners_hz=(2.0, 5000.0),
    span_hz=(1.6, 7000.0),
    band_level=1.0,
    levels={"motor": (5.0, 10.0, 20.0, 30.0, 40.0, 55.0), "pump": (5.0, 10.0, 20.0, 30.0, 40.0, 55.0)},
    full_scale=100.0,
    resonance_hz=28000.0,
    sensor="nominal_sensitivity = 10.2\ntolerance_pct = 5.0\nreference_hz = 80\nflat_hz = [10, 3000]\nflat_pct = 5.0\n",
    sensor_units=("m/s2 pk", "mV pk"),
    sensor_nominal=10.2,
    sensor_level=10.0,
    sensor_hz=(10, 20, 40, 80, 160, 315, 630, 1000, 2000, 3000, 5000),
    installed={
        "sensor": 'type = "constant-current accelerometer"',
        "cable": 'type = "two-core", length_m = 30',
        "monitor": 'type = "four-channel monitor"',
    },
    renamed={"A22": ("A23", 2024)},
    visits=(
        VisitPlan(
            day="2024-04-23",
            performed_by="Technician C",
            ambient_c=21.0,
            cycles=True,
            table=Table(
                headings=(
                    ("channel", "Point"),
                    ("frequency_hz", "Freq (Hz)"),
                    ("applied", "Level"),
                    ("applied_unit", "Level unit"),
                )
            ),
        ),
        VisitPlan(
            day="2025-05-13",
            performed_by="Technician A",
            ambient_c=20.0,
            table=Table(encoding="cp1252"),
            note="at the café-side doorway, fans running",
        ),
        VisitPlan(day="2026-04-21", performed_by="Technician B", ambient_c=18.5, table=Table()),
    ),
)

ASSETS = (STG, FDF, BFP)
INJECTOR = "INJ-26"  # a charge source, bought before the visits of 2026
# A certificate a year: calibrated, due. The fan's visit of 2025 came three weeks too late for it.
CERTIFICATES = {
    24: ("2023-05-29", "2024-05-28"),
    25: ("2024-05-28", "2025-05-27"),
    26: ("2025-07-01", "2026-06-30"),
}
