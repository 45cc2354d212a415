"""The demo site: generated from its truth byte for byte; its faults show where the trade expects them."""

from __future__ import annotations

import filecmp
import re
from pathlib import Path

import numpy as np
import pytest

from tests.demo_site.generate import write_site
from tests.demo_site.items import sensor_nominal
from tests.demo_site.physics import clipped_fundamental
from tests.demo_site.simulate import Row, simulate_visit
from tests.demo_site.site import ASSETS, AssetPlan, VisitPlan
from tests.demo_site.truth import FAMILIES, FAULTS, RELAYS_LATE, fault_of
from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import CHECKS, SHAKER_TESTS

VISITS = [(asset, visit) for asset in ASSETS for visit in asset.visits]
IDS = [f"{asset.tag} {visit.day}" for asset, visit in VISITS]
TOLERANCE_PCT = 5.0
# Half-power corners at -4 to -2 dB: common practice, no source.
CORNER = (10 ** (-4 / 20), 10 ** (-2 / 20))
FLAT_HZ = {"STG-1": (40, 200), "FDF-3": (20, 500), "BFP-2": (10, 2000)}
SENSOR_FLAT_HZ = {"STG-1": (20, 400), "BFP-2": (10, 3000)}


def _files(folder: Path) -> list[str]:
    """The files of a site; the reference beside them is no part of it."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != "README.md")
    return sorted(str(path.relative_to(folder)) for path in files)


def _sensitivities(rows: list[Row], test: str, nominal: float, zero: float) -> tuple[np.ndarray, np.ndarray]:
    used = [row for row in rows if row["test"] == test and not row.get("exclude")]
    frequency = np.array([float(row["frequency_hz"]) for row in used])
    ratio = [(float(row["output"]) - zero) / float(row["applied"]) / nominal for row in used]
    return frequency, np.array(ratio)


def _broken_limits(asset: AssetPlan, rows: list[Row], day: str) -> set[str]:
    """Limits that a channel's rows break, by the plain formulas S = y/x and S(f)/S(reference)."""
    broken = set()
    _, ratio = _sensitivities(rows, "linearity", asset.nominal, asset.zero)
    if np.abs(ratio - 1).max() > TOLERANCE_PCT / 100:
        broken.add("linearity")
    frequency, ratio = _sensitivities(rows, "band-response", asset.nominal, asset.zero)
    response = ratio / ratio[frequency == 80.0]
    low, high = FLAT_HZ[asset.tag]
    if np.abs(response[(frequency >= low) & (frequency <= high)] - 1).max() > 0.05:
        broken.add("flat part")
    for name, corner in zip(("lower corner", "upper corner"), asset.corners_hz, strict=True):
        if not CORNER[0] <= response[frequency == corner].item() <= CORNER[1]:
            broken.add(name)
    if asset.tag == "STG-1" and not 0.82 <= response[frequency == 300.0].item() <= 0.92:
        broken.add("limit at 300 Hz")
    if asset.sensor is not None:
        channel, condition = rows[0]["channel"].removeprefix(f"{asset.tag}-"), rows[0]["condition"]
        nominal = sensor_nominal(asset.tag, channel, day, condition, asset.sensor_nominal)
        frequency, ratio = _sensitivities(rows, "sensor-alone", nominal, 0.0)
        reference = ratio[frequency == 80.0].item()
        if abs(reference - 1) > TOLERANCE_PCT / 100:
            broken.add("sensor")
        low, high = SENSOR_FLAT_HZ[asset.tag]
        if np.abs(ratio / reference - 1)[(frequency >= low) & (frequency <= high)].max() > 0.05:
            broken.add("sensor flat part")
    return broken


def _cases() -> dict[tuple[str, str, str], tuple[AssetPlan, list[Row]]]:
    cases: dict[tuple[str, str, str], tuple[AssetPlan, list[Row]]] = {}
    for asset, visit in VISITS:
        for row in (row for row in simulate_visit(asset, visit) if row["test"] in SHAKER_TESTS):
            cases.setdefault((visit.day, row["channel"], row["condition"]), (asset, []))[1].append(row)
    return cases


CASES = _cases()
GOOD = [key for key in CASES if (fault := fault_of(*key)) is None or fault.family is None]
FAULTY = [fault for fault in FAULTS if fault.family is not None]

# What each family must break (common practice, no source), and what it must leave.
EXPECTED: dict[str, tuple[set[str], set[str]]] = {
    "module gain": ({"linearity"}, {"flat part", "sensor"}),
    "sensor lost sensitivity": ({"linearity", "sensor"}, {"flat part", "sensor flat part"}),
    "open leg": ({"linearity", "sensor"}, {"flat part", "sensor flat part"}),
    "detector mix-up": ({"linearity"}, {"flat part"}),
    "unit mix-up": ({"linearity"}, {"flat part"}),
    "mains pick-up": ({"linearity", "flat part"}, {"upper corner", "sensor"}),
    "noise floor": ({"linearity"}, {"flat part"}),
    "saturation": ({"linearity"}, {"flat part", "upper corner", "sensor"}),
    "loose mounting": ({"linearity", "upper corner"}, {"lower corner"}),
    "leak": ({"lower corner", "sensor flat part"}, set()),
    "wrong filter": ({"upper corner"}, {"lower corner", "sensor"}),
    "acceleration instead of velocity": ({"linearity", "flat part"}, {"sensor", "sensor flat part"}),
    "cracked element": ({"linearity", "sensor", "sensor flat part"}, {"lower corner"}),
    "strain": ({"linearity", "flat part"}, set()),
}


def test_generating_again_gives_the_same_bytes(tmp_path: Path) -> None:
    write_site(tmp_path)
    assert _files(tmp_path) == _files(DEMO)
    match, mismatch, errors = filecmp.cmpfiles(tmp_path, DEMO, _files(DEMO), shallow=False)
    assert (mismatch, errors) == ([], [])
    # waveforms of one visit, an old workbook, and the auxiliary train with two visits
    assert len(match) == 3 + 3 + 2 * 9 + 4 + 1 + (1 + 2 * 2)


def test_every_family_of_faults_occurs() -> None:
    assert {fault.family for fault in FAULTY} == set(FAMILIES) == set(EXPECTED)


def test_most_channels_are_good() -> None:
    found = [key for key in CASES if key[2] == "as-found"]
    assert len(found) == 3 * (6 + 4 + 4)
    assert len(FAULTY) < len(found) / 2


@pytest.mark.parametrize("key", GOOD, ids=" ".join)
def test_good_channels_keep_every_limit(key: tuple[str, str, str]) -> None:
    assert _broken_limits(*CASES[key], key[0]) == set()


@pytest.mark.parametrize("fault", FAULTY, ids=lambda fault: f"{fault.family} {fault.channel}")
def test_faults_break_what_they_must_and_leave_the_rest(fault) -> None:
    broken = _broken_limits(*CASES[fault.visit, fault.channel, "as-found"], fault.visit)
    must, must_not = EXPECTED[fault.family]
    assert must <= broken
    assert not must_not & broken


def test_marginal_channel_lies_just_within_its_tolerance() -> None:
    asset, rows = CASES["2026-05-05", "FDF-3-V21", "as-found"]
    _, ratio = _sensitivities(rows, "linearity", asset.nominal, asset.zero)
    # true gain 4.6 % high, seen through a reference with a standard uncertainty of 0.75 %
    assert 4.6 - 0.75 < 100 * (ratio.mean() - 1) < 5.0


def test_trip_is_out_of_reach_at_the_pinion_and_within_at_the_turbine() -> None:
    for (_, _channel, _), (asset, rows) in CASES.items():
        if asset.tag == "STG-1":
            for row in (r for r in rows if r["test"] == "linearity"):
                assert float(row["applied"]) < (9.2 if row["frequency_hz"] == "149.00" else 20.3)


def test_clipped_sine_agrees_with_its_fourier_integral() -> None:
    phase = (np.arange(200_000) + 0.5) * 2 * np.pi / 200_000
    for amplitude in (0.5, 1.0, 1.2, 3.0):
        clipped = np.clip(amplitude * np.sin(phase), -1.0, 1.0)
        assert clipped_fundamental(amplitude, 1.0) == pytest.approx(2 * np.mean(clipped * np.sin(phase)), abs=1e-8)


def test_no_file_tells_the_truth() -> None:
    texts = " ".join((DEMO / name).read_bytes().decode("latin-1").lower() for name in _files(DEMO))
    words = (*FAMILIES, "fault", "faulty", "mix-up", "clipped", "defect", "defective")
    assert not [word for word in words if re.search(rf"\b{word}\b", texts)]


def test_one_relay_of_the_train_acts_late() -> None:
    """By the plain middle of what had not acted and what had; the channel's own error is within 3 %."""
    ((late_day, late),) = RELAYS_LATE
    (plan, visit) = next(pair for pair in VISITS if pair[1].day == late_day)
    rows = [
        row for row in simulate_visit(plan, visit) if row.get("set_point") == "trip" and row["direction"] == "rising"
    ]
    for tag in {row["channel"] for row in rows}:
        own = [row for row in rows if row["channel"] == tag]
        not_acted = max(float(row["applied"]) for row in own if row["acted"] == "no")
        acted = min(float(row["applied"]) for row in own if row["acted"] == "yes")
        expected = 1.0 + (RELAYS_LATE[late_day, late] if tag == late else 0.0)
        assert abs(0.5 * (not_acted + acted) / 50.0 - expected) < 0.03


@pytest.mark.parametrize(("asset", "visit"), VISITS, ids=IDS)
def test_each_visit_loads_as_it_was_written(asset: AssetPlan, visit: VisitPlan) -> None:
    folder = load_visit(DEMO / asset.tag / visit.day)
    rows = simulate_visit(asset, visit)
    table = sorted(folder.table.rows, key=lambda row: row.row)
    readings = folder.table.readings
    read = [row for row in rows if row["test"] not in CHECKS]
    assert set(folder.asset.channels) == {f"{asset.tag}-{name}" for name in asset.channels}
    assert [r.row for r in table] == list(range(2, len(rows) + 2))
    assert [r.channel for r in table] == [row["channel"] for row in rows]
    assert [(r.applied, r.output) for r in readings] == [(float(row["applied"]), float(row["output"])) for row in read]
    assert [r.exclude for r in table] == [row.get("exclude") for row in rows]
    assert (readings[0].note or "") == visit.note
    used = [f"REF-{visit.year % 100}", *(["INJ-26"] if visit.injected else [])]
    assert [r.id for r in folder.references] == used
