"""A visit to enter readings into: a copy of the demo's turbine with a new day, and rows as a person types them."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from tests.support.places import ROOT
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.records.entry.visit_table import VisitTable

HEAD = 'date = 2026-05-26\nperformed_by = "Technician A"\nequipment = ["REF-26", "DVM-26"]\n'


def new_visit(folder: Path, *, head: str = HEAD, asset: str = "STG-1", day: str = "2026-05-26") -> Path:
    """Copy the site's files and make the folder of a visit without readings."""
    site = ROOT / "data_demo"
    (folder / asset).mkdir(parents=True)
    for name in ("equipment.toml", "kinds.toml", f"{asset}/asset.toml"):
        shutil.copyfile(site / name, folder / name)
    visit = folder / asset / day
    visit.mkdir()
    (visit / "visit.toml").write_text(head, encoding="utf-8")
    return visit


class Clock:
    """A clock that goes on by a second at each look."""

    def __init__(self) -> None:
        self.time = datetime(2026, 5, 26, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


def table_of(visit: Path, *, clock: Clock | None = None) -> VisitTable:
    """Open the reading table of a visit."""
    asset = load_asset_folder(visit.parent).asset
    return VisitTable(visit, asset=asset, columns={}, by="Technician A", now=clock or Clock())


def row(level: float | str, output: float | str, *, channel: str = "STG-1-V11", hz: str = "50", **more: str) -> dict:
    """Return a linearity reading by column, as texts."""
    return {
        "channel": channel,
        "test": "linearity",
        "condition": "as-found",
        "frequency_hz": hz,
        "applied": str(level),
        "applied_unit": "mm/s pk",
        "output": str(output),
        "output_unit": "mV pk",
        **more,
    }


def good_output(visit, step, *, gain: float = 1.0, seed: int = 0) -> float:
    """What a channel puts out at a step: second-order Butterworth filters at its corners, and a little scatter.

    Written apart from the package: magnitudes as in textbooks, relative to the reference frequency.
    """
    channel = visit.base.asset.channel(step.channel, step.condition)
    scatter = 1.0 + 0.001 * float(np.random.default_rng(seed).standard_normal())
    level = step.level or 0.0
    if step.test == "sensor-alone":
        return gain * scatter * channel.sensor.nominal_sensitivity * level
    if step.test != "band-response" or channel.band is None:
        return channel.output_zero + gain * scatter * channel.nominal_sensitivity * level
    band = channel.band

    def magnitude(f: float) -> float:
        high = 1.0 if not band.corner_high_hz else 1.0 / (1.0 + (f / band.corner_high_hz) ** 4) ** 0.5
        low = 1.0 if not band.corner_low_hz else 1.0 / (1.0 + (band.corner_low_hz / f) ** 4) ** 0.5
        return high * low

    ratio = magnitude(step.frequency_hz) / magnitude(band.reference_hz)
    return channel.output_zero + gain * scatter * channel.nominal_sensitivity * level * ratio
