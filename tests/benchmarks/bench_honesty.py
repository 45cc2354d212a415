"""Do the stated intervals cover, and do the decision rules keep what they promise? Channels with known truth.

Each channel goes the whole path from written files to verdict: its reading table is typed with the digits of a
readout, from errors drawn as the budget states them. Run by hand:

    python -m tests.benchmarks.bench_honesty [CHANNELS]
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.plants import ASSET, build_site
from vibcal_nb.analysis.band_response import analyse_band_response
from vibcal_nb.analysis.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone import analyse_sensor_alone
from vibcal_nb.inputs.case import select_case
from vibcal_nb.inputs.folder import load_visit
from vibcal_nb.inputs.visit import Decision

LEVELS = (2.0, 5.0, 10.0, 15.0, 20.0)
BAND_HZ = np.unique(np.round(np.append(np.geomspace(8, 1000, 25), [50, 80, 20, 400]), 1))
SENSOR_HZ = np.array([20, 30, 50, 80, 100, 160, 250, 315, 400])
YEARS = 129 / 365.25  # from the calibration to the visit of the small site
TOLERANCE = 5.0


class Errors:
    """The errors of one visit, in the sizes of certificates and of the default contributions, as ratios."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        rectangular = lambda half: rng.uniform(-half, half)  # noqa: E731
        self.common = rng.normal(0, 0.0075) + rectangular(0.002 * YEARS) + rng.normal(0, 0.001) + rectangular(0.002)
        self.by_frequency: dict[float, float] = {}

    def of_reading(self, hz: float) -> float:
        if hz not in self.by_frequency:
            self.by_frequency[hz] = sum(self.rng.uniform(-half, half) for half in (0.002, 0.003, 0.001))
        own = self.rng.normal(0, 0.002) + self.rng.uniform(-0.001, 0.001)
        return 1.0 + self.common + self.by_frequency[hz] + own


def band(f, low, high):
    return 1 / np.sqrt(1 + (low / f) ** 4) / np.sqrt(1 + (f / high) ** 4)


def write_rows(truth, errors, rng):
    def row(test, hz, target, unit, sensitivity, out):
        x = round(target * rng.normal(1.0, 0.01), 2)
        y = x * sensitivity * errors.of_reading(hz)
        return f"STG-1-V11,{test},as-found,{hz:g},{x:.2f},{unit},{y:.2f},{out},,,,"

    rows = [row("linearity", 50, level, "mm/s pk", truth["gain"], "mV pk") for level in LEVELS]
    for hz in BAND_HZ:
        rows.append(row("band-response", hz, 20.0, "mm/s pk", 4 * band(hz, truth["low"], truth["high"]), "mV pk"))
    for hz in SENSOR_HZ:
        rows.append(row("sensor-alone", hz, 20.0, "m/s2 pk", truth["sensor"], "pC pk"))
    return rows


def draw_truth(rng, number):
    """Every other channel has its gain exactly at the upper limit: the worst case of a false acceptance."""
    deviation = TOLERANCE if number % 2 else rng.uniform(-8, 8)
    return {
        "gain": 4 * (1 + deviation / 100),
        "deviation": deviation,
        "low": rng.uniform(17, 23),
        "high": rng.uniform(350, 450),
        "sensor": 5 * (1 + rng.uniform(-6, 6) / 100),
    }


def inside(value, half, truth):
    return None if value is None else abs(value - truth) <= half


def study(truth, folder, tally):
    visit = load_visit(folder)
    cases = {
        test: select_case(visit, channel="STG-1-V11", test=test, condition="as-found")
        for test in ("linearity", "band-response", "sensor-alone")
    }
    line = analyse_linearity(cases["linearity"]).frequencies[0].line
    tally["sensitivity", inside(line.sensitivity, line.expanded.U, truth["gain"])] += 1
    fit = analyse_band_response(cases["band-response"]).fit
    for side, name in (("low", "lower corner"), ("high", "upper corner")):
        interval = getattr(fit, f"corner_{side}_interval_hz")
        tally[name, None if interval is None else interval[0] <= truth[side] <= interval[1]] += 1
    sensor = analyse_sensor_alone(cases["sensor-alone"])
    tally["sensor sensitivity", inside(sensor.reference_sensitivity, sensor.expanded.U, truth["sensor"])] += 1
    for name, decision in (("simple", Decision()), ("guarded, r = 1", Decision(rule="guarded", r=1.0))):
        case = replace(cases["linearity"], visit=replace(visit.visit, decision=decision))
        result = analyse_linearity(case)
        at_limit = (
            "at the limit"
            if truth["deviation"] == TOLERANCE
            else "within"
            if abs(truth["deviation"]) < TOLERANCE
            else "outside"
        )
        slope = result.frequencies[0].line.deviation_decision.verdict
        tally[name, "sensitivity alone", at_limit, slope] += 1
        tally[name, "whole test", at_limit, result.verdict] += 1


def main(channels: int) -> None:
    rng = np.random.Generator(np.random.PCG64(20260519))
    tally: Counter = Counter()
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        for number in range(channels):
            truth = draw_truth(rng, number)
            rows = write_rows(truth, Errors(rng), rng)
            study(truth, build_site(Path(name), rows, asset=ASSET), tally)
    seconds = time.perf_counter() - started
    print(f"{channels} channels in {seconds:.0f} s")
    for name in ("sensitivity", "lower corner", "upper corner", "sensor sensitivity"):
        yes, no, none = (tally[name, answer] for answer in (True, False, None))
        print(f"{name:20s} stated 95 % interval covers {100 * yes / max(yes + no, 1):.2f} % (undetermined: {none})")
    for rule in ("simple", "guarded, r = 1"):
        for what in ("sensitivity alone", "whole test"):
            for where in ("at the limit", "outside", "within"):
                found = {key[3]: count for key, count in tally.items() if key[:3] == (rule, what, where)}
                total = sum(found.values())
                shares = ", ".join(f"{word} {100 * count / total:.2f} %" for word, count in sorted(found.items()))
                print(f"{rule:15s} {what:18s} true deviation {where:13s}: {shares}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
