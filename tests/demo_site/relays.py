"""From the output to the relay at one visit of the pump: display, set points, votes, health, the day's trail.

The train's three casing channels vote two out of three. Each relay acts where what its channel shows passes the set
level; one of them has drifted (`truth.RELAYS_LATE`).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from tests.demo_site.physics import Chain, observe_channel
from tests.demo_site.truth import RELAYS_LATE

ASSET, DAY = "BFP-2", "2026-04-21"
VOTING = ("A11", "A12", "A21")
GROUP = f"{ASSET}-TRIP"
SET_POINTS = {"alert": 30.0, "trip": 50.0}
HYSTERESIS = 0.02
STEP = 0.1  # of the display
RELAY_COLUMNS = ("set_point", "acted", "delay_s", "in_trip", "item", "value", "unit")

KIND_TEXT = """
[pump-acceleration.indication]
unit = "m/s2 pk"
full_scale = 100
display_step = 0.1
tolerance = { span_pct = 2.0 }

[pump-acceleration.set_points.trip]
delay_s = [0.5, 1.5]

[pump-acceleration.electrical.bias]
unit = "V"
min = 8
max = 12
"""
GROUP_TEXT = f"""
[groups.{GROUP}]
logic = "2oo3"
channels = [{", ".join(f'"{ASSET}-{name}"' for name in VOTING)}]
set_point = "trip"
"""
VISIT_TEXT = f"""
[inhibit]
permit = "KF-PTW-2604"
channels = [{", ".join(f'"{ASSET}-{name}"' for name in VOTING)}]
off = "08:15"
on = "13:40"
by = "Technician B"
told = ["control room", "shift leader"]
logic = "one channel at a time was inhibited: 2oo3 became 1oo2 of the other two"

[return_to_service]
by = "Technician B"
at = "14:05"
checks = [
    "Sensors refitted, torqued, cables secured.",
    "OK state and bias read at the monitor.",
    "Inhibit removed, seen in the control room.",
    "Trip path proved up to the relay.",
]
"""

Row = dict[str, str]


def relay_rows(name: str, chain: Chain, frequency: float, rng: np.random.Generator, error: float) -> Iterator[Row]:
    """Rows of one channel: bias, display, and each set point approached twice from below and left to fall."""
    tag = f"{ASSET}-{name}"
    common = {"channel": tag, "condition": "as-found"}
    bias = f"{rng.uniform(9.6, 11.4):.2f}"
    yield common | {"test": "electrical", "item": "bias", "value": bias, "unit": "V"}
    driven = common | {"frequency_hz": f"{frequency:.2f}", "applied_unit": "m/s2 pk"}
    for target in (10.0, 20.0, 35.0, 55.0, 80.0):
        true = target * (1.0 + 0.01 * float(rng.uniform(-1.0, 1.0)))
        shown = STEP * round(observe_channel(chain, true, frequency, rng) / STEP)
        applied = f"{true * (1.0 + error):.2f}"
        yield driven | {"test": "indication", "applied": applied, "output": f"{shown:.1f}", "output_unit": "m/s2 pk"}
    for set_point, level in SET_POINTS.items():
        late = RELAYS_LATE.get((DAY, tag), 0.0) if set_point == "trip" else 0.0
        for repeat in ("1", "2"):
            yield from _approach(driven, set_point, level, late, repeat, chain, frequency, rng, error)


def _approach(
    driven: Row,
    set_point: str,
    level: float,
    late: float,
    repeat: str,
    chain: Chain,
    frequency: float,
    rng: np.random.Generator,
    error: float,
) -> Iterator[Row]:
    """One approach from below with steps that close in, until the relay acts; then down until it lets go."""
    targets = [0.85, 0.92, *(0.96 + 0.01 * step for step in range(16))]
    way, acted, place = "rising", False, 0
    while True:
        true = level * targets[place] * (1.0 + 0.002 * float(rng.uniform(-1.0, 1.0)))
        shown = observe_channel(chain, true, frequency, rng)
        limit = level * (1.0 + late) * (1.0 if way == "rising" else 1.0 - HYSTERESIS)
        acts = shown > limit
        row = driven | {
            "test": "set-point",
            "applied": f"{true * (1.0 + error):.2f}",
            "direction": way,
            "repeat": repeat,
            "set_point": set_point,
            "acted": "yes" if acts else "no",
        }
        if acts and not acted and way == "rising" and set_point == "trip":
            row["delay_s"] = f"{rng.normal(1.0, 0.03):.2f}"
        yield row
        if way == "rising" and acts:
            way, acted = "falling", True
        elif way == "falling" and not acts:
            return
        place += 1 if way == "rising" else -1


def voting_rows() -> Iterator[Row]:
    """Every state of the group, tried one by one."""
    for count in range(len(VOTING) + 1):
        for state in combinations(VOTING, count):
            yield {
                "channel": GROUP,
                "test": "voting",
                "condition": "as-found",
                "in_trip": " ".join(f"{ASSET}-{name}" for name in state),
                "acted": "yes" if count >= 2 else "no",
            }
