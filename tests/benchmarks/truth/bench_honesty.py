"""Do the stated intervals cover, and do the decision rules keep what they promise? Channels with known truth.

Each channel goes the whole path from written files to verdict: its reading table is typed with the digits of a
readout, from errors drawn as the budget states them. Every other channel has its sensitivity exactly at the upper
limit, where a rule is most easily deceived; the others lie anywhere within 8 %. Run by hand:

    python -m tests.benchmarks.truth.bench_honesty [CHANNELS]
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np

from tests.support.readings.cases import butterworth
from tests.support.sites.plants import build_site
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case

LEVELS = (2.0, 5.0, 10.0, 15.0, 20.0)
BAND_HZ = np.unique(np.round(np.append(np.geomspace(8, 1000, 25), [50, 80, 20, 400]), 1))
SENSOR_HZ = np.array([20, 30, 50, 80, 100, 160, 250, 315, 400])
YEARS = 129 / 365.25  # from the calibration to the visit of the small site
TOLERANCE = 5.0
TESTS = ("linearity", "band-response", "sensor-alone")
RULES = ("simple", "guarded")
COVERED = ("sensitivity", "lower corner", "upper corner", "sensor sensitivity")
#: Highest probability of "pass" for a quantity outside its limits (ILAC-G8:09/2019, 4.2.1, 4.2.3 and table 1)
PROMISED_PCT = {"simple": 50.0, "guarded": 2.5}


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


def write_rows(truth, errors, rng):
    """Rows as typed: the level that is shown is rounded, the output comes from the level that is there."""

    def row(test, hz, target, unit, sensitivity, out):
        x = target * rng.normal(1.0, 0.01)
        y = x * sensitivity * errors.of_reading(hz)
        return f"STG-1-V11,{test},as-found,{hz:g},{x:.2f},{unit},{y:.2f},{out},,,,"

    band = 4 * butterworth(BAND_HZ, low=(truth["low"], 2), high=(truth["high"], 2))
    rows = [row("linearity", 50, level, "mm/s pk", truth["gain"], "mV pk") for level in LEVELS]
    rows += [row("band-response", hz, 20.0, "mm/s pk", at, "mV pk") for hz, at in zip(BAND_HZ, band, strict=True)]
    return rows + [row("sensor-alone", hz, 20.0, "m/s2 pk", truth["sensor"], "pC pk") for hz in SENSOR_HZ]


def draw_truth(rng, number):
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


def where(deviation):
    if deviation == TOLERANCE:
        return "at the limit"
    return "outside" if abs(deviation) > TOLERANCE else "within"


def study(truth, folder, tally):
    """Take one written visit to its verdicts and count them."""
    visit = load_visit(folder)
    cases = {test: select_case(visit, channel="STG-1-V11", test=test, condition="as-found") for test in TESTS}
    fit = analyse_band_response(cases["band-response"]).fit
    for side, name in (("low", "lower corner"), ("high", "upper corner")):
        interval = fit.corners[side].interval_hz
        tally[name, None if interval is None else interval[0] <= truth[side] <= interval[1]] += 1
    sensor = analyse_sensor_alone(cases["sensor-alone"])
    tally["sensor sensitivity", inside(sensor.reference.sensitivity, sensor.reference.expanded.U, truth["sensor"])] += 1
    for rule in RULES:
        result = analyse_linearity(cases["linearity"].with_decision(rule=rule, r=1.0))
        line = result.frequencies[0].line
        place = where(truth["deviation"])
        tally[rule, "sensitivity alone", place, line.deviation_decision.verdict] += 1
        tally[rule, "whole test", place, result.verdict] += 1
        if place != "at the limit" and line.deviation_decision.verdict == "pass":
            tally[rule, "passed"] += 1
            tally[rule, "stated risk"] += line.deviation_decision.specific_risk
            tally[rule, "passed outside"] += place == "outside"
    tally["sensitivity", inside(line.sensitivity, line.expanded.U, truth["gain"])] += 1


def share(part, total):
    """A share in % with its standard error."""
    p = part / max(total, 1)
    return f"{100 * p:.2f} ± {100 * math.sqrt(p * (1 - p) / max(total, 1)):.2f} %"


def report(tally):
    for name in COVERED:
        yes, no, none = (tally[name, answer] for answer in (True, False, None))
        print(f"{name:20s} stated 95 % interval covers {share(yes, yes + no)} (undetermined: {none})")
    for rule in RULES:
        passed = tally[rule, "passed"]
        stated = 100 * tally[rule, "stated risk"] / max(passed, 1)
        print(
            f"{rule}: of the channels passed anywhere, outside {share(tally[rule, 'passed outside'], passed)}", end=""
        )
        print(f"; the verdicts themselves stated {stated:.2f} %")
        for what in ("sensitivity alone", "whole test"):
            for place in ("at the limit", "outside", "within"):
                found = {key[3]: count for key, count in tally.items() if key[:3] == (rule, what, place)}
                total = sum(found.values())
                shares = ", ".join(f"{word} {share(count, total)}" for word, count in sorted(found.items()))
                promise = "" if place == "within" else f" (promised: pass at most {PROMISED_PCT[rule]:g} %)"
                print(f"  {what}, truth {place}{promise}: {shares}")


def main(channels: int) -> None:
    rng = np.random.Generator(np.random.PCG64(20260519))
    tally: Counter = Counter()
    started = time.perf_counter()
    with tempfile.TemporaryDirectory() as name:
        for number in range(channels):
            truth = draw_truth(rng, number)
            rows = write_rows(truth, Errors(rng), rng)
            study(truth, build_site(Path(name), rows), tally)
    print(f"{channels} channels in {time.perf_counter() - started:.0f} s")
    report(tally)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
