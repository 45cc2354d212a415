"""A made-up site of any size as register rows: for the overview's tests and its benchmark."""

from __future__ import annotations

import json

import numpy as np

from vibcal_nb.model.names import SHAKER_TESTS
from vibcal_nb.records.register.register_rows import RegisterRow


def equipment(year):
    return [
        {
            "id": f"REF-{year}",
            "kind": "reference",
            "serial": "R-1",
            "calibrated": f"{year - 1}-11-02",
            "due": f"{year}-11-01",
        }
    ]


def summary(rng, *, asset, channel, year, analysis, level, shift=0.0):
    names = {"linearity": "sensitivity at 50 Hz", "sensor-alone": "sensor sensitivity at 80 Hz"}
    shared = {f"reference level, REF-{year}": 0.5, f"readout gain, DVM-{year}": 0.1}
    sensitivity = {
        "name": names.get(analysis),
        "deviation_pct": level + shift + float(rng.normal(0.0, 0.25)),
        "u_own_pct": 0.3,
        "nu_own": None,
        "shared_pct": shared,
        "tolerance_pct": 5.0,
    }
    points = [
        {
            "rotor": "turbine",
            "frequency_hz": 50.0,
            "set_point": name,
            "level": value,
            "max_applied": 20.0,
            "unit": "mm/s pk",
        }
        for name, value in (("alert", 11.0), ("trip", 18.0))
    ]
    return {
        "asset": asset,
        "visit": f"{year}-05-19",
        "date": f"{year}-05-19",
        "location": "Front bearing, vertical",
        "equipment": equipment(year),
        "worst": {
            "name": "sensitivity at 50 Hz",
            "margin_pct": 100.0 - 20.0 * abs(sensitivity["deviation_pct"]),
        },
        "sensitivities": [sensitivity] if analysis in names else [],
        "set_points": points if analysis == "linearity" else [],
    }


def register_rows(channels, *, years=(2023, 2024, 2026), per_asset=20, seed=1, shifts=None):
    """Yield rows; ``shifts`` maps a year to what all sensitivities are off by in it, in %."""
    rng = np.random.default_rng(seed)
    levels = rng.normal(0.0, 1.0, channels)
    for year in years:
        for number in range(channels):
            asset, channel = f"A-{number // per_asset:04d}", f"A-{number // per_asset:04d}-V{number % per_asset:02d}"
            for analysis in SHAKER_TESTS:
                said = summary(
                    rng,
                    asset=asset,
                    channel=channel,
                    year=year,
                    analysis=analysis,
                    level=levels[number],
                    shift=(shifts or {}).get(year, 0.0),
                )
                verdict = "pass" if said["worst"]["margin_pct"] >= 0.0 else "fail"
                yield RegisterRow(
                    asset=asset,
                    visit=said["visit"],
                    date=said["date"],
                    channel=channel,
                    analysis=analysis,
                    condition="as-found",
                    verdict=verdict,
                    margin_pct=said["worst"]["margin_pct"],
                    record=f"{asset}/{said['visit']}/{channel}/{analysis}.as-found.ipynb",
                    seal=f"{rng.integers(1 << 62):064x}",
                    seal_kind="seal",
                    statement=f"{channel}, {analysis}, as found: {verdict}. Rule: simple acceptance.",
                    summary=json.dumps(said, sort_keys=True),
                    quantities=json.dumps([{"frequency_hz": 50.0, "sensitivity": 4.0, "k": 2.0}]),
                )
