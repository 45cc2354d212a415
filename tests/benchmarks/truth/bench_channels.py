"""Do stated 95 % intervals of a whole channel cover the truth whatever the kit does, and is a good one refused?

Visits of ``simulated_channels`` from written files to set points. Coverage of sensitivities, flatness, corners, and of
the levels at which alert and trip come; false accepts of channels exactly at their limit; verdicts on healthy channels;
soft saturations read up to 70 % of the trip. Run by hand:

    python -m tests.benchmarks.truth.bench_channels coverage|healthy|sag [CHANNELS] [SEED] [store]
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np

from tests.support.readings.simulated_channels import (
    LEVELS,
    REFERENCE_HZ,
    SET_POINTS,
    SPEEDS_HZ,
    TAG,
    TWO_ROTORS,
    Kit,
    Truth,
    write_rows,
)
from tests.support.sites.plants import build_site
from vibcal_nb.analysis.channel.alarm_reach import assess_reach
from vibcal_nb.analysis.channel.channel_tests import analyse_tests
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import select_channel_case

KITS = {
    "certificate one error": Kit(own_share=0.0, correlation=1.0),
    "half by frequency": Kit(),
    "half by octave": Kit(octaves=1.0),
    "three digits": Kit(digits=3),
    "repeats, pooled": Kit(repeats=3, scatter=0.004),
    "repeats, three digits": Kit(repeats=3, scatter=0.004, digits=3),
}
TESTS = ("linearity", "band-response", "sensor-alone")
REPORT_EVERY = 100
ACTED = ("demonstrated", "inferred")


def _random(seed: int, number: int) -> np.random.Generator:
    return np.random.Generator(np.random.PCG64([seed, number]))


def anywhere(rng: np.random.Generator, number: int) -> Truth:
    """Every other channel exactly at the upper limit of its sensitivity at the turbine's speed."""
    low, high, sensor = rng.uniform(17, 23), rng.uniform(350, 450), 1.0 + rng.uniform(-0.06, 0.06)
    gain = 1.0 + rng.uniform(-0.08, 0.08)
    truth = Truth(gain=gain, low=low, high=high, sensor=sensor)
    if number % 2:
        truth = Truth(gain=1.05 * gain * 4.0 / truth.sensitivity(50.0), low=low, high=high, sensor=sensor)
    return truth


def healthy(rng: np.random.Generator, _: int) -> Truth:
    low, high = 20.0 * (1.0 + rng.uniform(-0.03, 0.03)), 400.0 * (1.0 + rng.uniform(-0.03, 0.03))
    return Truth(gain=1.0 + rng.uniform(-0.02, 0.02), low=low, high=high, sensor=1.0 + rng.uniform(-0.02, 0.02))


def perform(folder: Path, rows: list[str], kit: Kit):
    """Analyse a written visit: its tests and its reach."""
    visit = load_visit(build_site(folder, rows, asset=TWO_ROTORS, equipment=kit.equipment))
    case = select_channel_case(visit, channel=TAG, condition="as-found")
    tests = analyse_tests(case.channel, case.tests)
    return tests, assess_reach(case.channel, tests)


def count_coverage(tally: Counter, truth: Truth, tests, reach) -> None:
    for item in tests.linearity.frequencies:
        if item.line is not None:
            off = item.line.sensitivity - truth.sensitivity(item.frequency_hz)
            tally["sensitivity", abs(off) <= item.line.expanded.U] += 1
    at_reference = truth.sensitivity(REFERENCE_HZ)
    for point in tests.band.points:
        hz = point.reading.frequency_hz
        if hz != REFERENCE_HZ and point.value_pct is not None:
            off = point.value_pct - 100.0 * truth.sensitivity(hz) / at_reference
            tally["flatness", abs(off) <= point.expanded.U] += 1
    for side in ("low", "high"):
        interval = tests.band.corners[side].interval_hz
        inside = None if interval is None else interval[0] <= getattr(truth, side) <= interval[1]
        tally[f"{side} corner", inside] += 1
    for point in reach:
        count_level(tally, truth, point)


def count_level(tally: Counter, truth: Truth, point) -> None:
    """Where a set point comes: driven through, or inferred beyond the readings; None where nothing is stated."""
    true = truth.acts_at(point.set_level, point.frequency_hz)
    if point.status in ACTED:
        inside = true is not None and abs(point.true_level - true) <= point.expanded.U
        tally[f"{point.set_point}, {point.status}", inside] += 1
    else:
        tally[f"{point.set_point}, {point.status}", None] += 1


def count_accepts(tally: Counter, number: int, tests) -> None:
    """Channels exactly at the limit: how often their sensitivity, and their whole test, is passed."""
    if number % 2:
        (item,) = (item for item in tests.linearity.frequencies if abs(item.frequency_hz - 50.0) < 1.0)
        tally["at the limit, sensitivity", item.line.deviation_decision.verdict == "pass"] += 1
        tally["at the limit, whole test", tests.linearity.verdict == "pass"] += 1


def share(tally: Counter, name: str) -> str:
    """The share of True among True and False in %, with its standard error."""
    yes, total = tally[name, True], tally[name, True] + tally[name, False]
    if not total:
        return "–"
    p = yes / total
    return f"{100 * p:.2f} ± {100 * math.sqrt(p * (1 - p) / total):.2f}"


def coverage(channels: int, seed: int) -> list[str]:
    """Return a table: what is stated for 95 %, kit by kit, and how often it holds."""
    tallies: dict[str, Counter] = {name: Counter() for name in KITS}
    with tempfile.TemporaryDirectory() as folder:
        for number in range(channels):
            for kit_number, (name, kit) in enumerate(KITS.items()):
                rng = _random(seed + kit_number, number)
                truth = anywhere(rng, number)
                tests, reach = perform(Path(folder), write_rows(truth, kit, rng, tests=TESTS[:2]), kit)
                count_coverage(tallies[name], truth, tests, reach)
                count_accepts(tallies[name], number, tests)
            if not (number + 1) % REPORT_EVERY:
                print(f"{number + 1} channels a kit", *_table(tallies), sep="\n", flush=True)
    return [f"{channels} channels a kit, seed {seed}.", "", *_table(tallies)]


def _table(tallies: dict[str, Counter]) -> list[str]:
    rows = sorted({key for tally in tallies.values() for key, answer in tally if answer is not None})
    lines = [f"| in % | {' | '.join(tallies)} |", f"|---|{'---|' * len(tallies)}"]
    return lines + [f"| {row} | {' | '.join(share(tally, row) for tally in tallies.values())} |" for row in rows]


def refused(channels: int, seed: int) -> list[str]:
    """Return a table: the verdicts on healthy channels, test by test and in all."""
    tally: Counter = Counter()
    kit = Kit(own_share=0.0)
    with tempfile.TemporaryDirectory() as folder:
        for number in range(channels):
            rng = _random(seed, number)
            tests, reach = perform(Path(folder), write_rows(healthy(rng, number), kit, rng, tests=TESTS), kit)
            for test, verdict in tests.verdicts.items():
                tally[test, verdict] += 1
            for point in reach:
                tally[f"{point.set_point} of the {point.rotor.name}", point.status] += 1
            words = set(tests.verdicts.values())
            words |= {"not verified" for point in reach if point.status == "not verified"}
            words |= {"fail" for point in reach if point.status == "does not act"}
            tally["channel", "pass" if words == {"pass"} else "refused"] += 1
    return [f"- {name}: {word} {100 * count / channels:.2f} %" for (name, word), count in sorted(tally.items())]


def sagging(channels: int, seed: int) -> list[str]:
    """Return a table: the trip of the pinion, read up to 70 % of it, where the output sags there."""
    lines = ["| sag at the trip, % | not verified, % | stated intervals that hold the true trip, % |", "|---|---|---|"]
    kit = Kit()
    levels = {"pinion": LEVELS["pinion"]}
    with tempfile.TemporaryDirectory() as folder:
        for sag in (0.0, 0.01, 0.02, 0.04):
            tally: Counter = Counter()
            for number in range(channels):
                rng = _random(seed, number)
                truth = Truth(gain=1.0 + rng.uniform(-0.02, 0.02), low=20.0, high=400.0, sag=sag)
                _, reach = perform(Path(folder), write_rows(truth, kit, rng, tests=TESTS[:1], levels=levels), kit)
                (point,) = (p for p in reach if p.set_point == "trip" and p.frequency_hz == SPEEDS_HZ["pinion"])
                if point.status in ACTED:
                    true = truth.acts_at(SET_POINTS["trip"], point.frequency_hz)
                    tally["trip", true is not None and abs(point.true_level - true) <= point.expanded.U] += 1
            stated = tally["trip", True] + tally["trip", False]
            lines.append(f"| {100 * sag:g} | {100 * (1 - stated / channels):.1f} | {share(tally, 'trip')} |")
            print(lines[-1], flush=True)
    return lines


WHAT = {
    "coverage": (coverage, "Coverage of whole channels"),
    "healthy": (refused, "Healthy channels"),
    "sag": (sagging, "Soft saturation beyond the readings"),
}


def main(what: str, channels: int, seed: int, *, store: bool) -> None:
    started = time.perf_counter()
    make, heading = WHAT[what]
    lines = make(channels, seed)
    print("\n".join(lines))
    print(f"{time.perf_counter() - started:.0f} s")
    if store:
        from tests.benchmarks.figures import store_figures

        command = f"python -m tests.benchmarks.truth.bench_channels {what} {channels} {seed} store"
        store_figures(heading, "\n".join(lines), command=command)


if __name__ == "__main__":
    numbers = [int(value) for value in sys.argv[2:] if value != "store"]
    main(sys.argv[1], *(numbers + [4000, 20261130][len(numbers) :]), store="store" in sys.argv)
