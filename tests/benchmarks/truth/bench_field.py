"""What is said of channels as the field has them: known faults, pairs, unknown behaviour, slips, healthy channels.

Half of the channels are healthy. Run by hand; channels are studied in random order, and those done so far are kept,
so that a run that is stopped goes on where it was:

    python -m tests.benchmarks.truth.bench_field [FAULTY] [HEALTHY] [SEED] [SECONDS] [FILE]
"""

from __future__ import annotations

import json
import sys
import time
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

import numpy as np
from scipy.stats import binomtest

from tests.benchmarks.truth.simulated_field import (
    FAULTS,
    KINDS,
    SLIPS,
    UNKNOWN,
    Visit,
    cases_of,
    draw_healthy,
    draw_plant,
    families_of,
    slip,
)
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.analysis.faults.faults import explain_channel

SHARES = {"known": 0.6, "pair": 0.15, "unknown": 0.15, "slip": 0.1}
FACTORS = ("module gain", "sensor lost sensitivity", "another sensor", "range step", "open leg", "detector mix-up",
           "unit mix-up", "cracked element")  # fmt: skip


def study(number: int, faulty: bool, seed: int) -> dict | None:
    """One channel; None of a fault after which no limit fails."""
    rng = np.random.Generator(np.random.PCG64([seed, number, int(faulty)]))
    plant = draw_plant(rng, str(rng.choice(KINDS)), full=bool(rng.random() < 0.5))
    truth = draw_healthy(plant, rng)
    what = str(rng.choice(list(SHARES), p=list(SHARES.values()))) if faulty else "healthy"
    truth.names = _spoil(what, truth, plant, rng)
    readings, rows = Visit(plant, truth, rng).take_all(), ()
    if what == "slip":
        readings, rows = slip(readings, truth.names[0], rng)
    cases = cases_of(plant, readings)
    if faulty and what != "slip" and not any(ANALYSE[case.test](case).verdict == "fail" for case in cases):
        return None
    started = time.process_time()
    found = explain_channel(cases)
    return {
        "number": number, "what": what, "truth": sorted(truth.names), "kind": plant.kind, "full": plant.full,
        "ranking": [[sorted(e.names), round(e.weight, 6)] for e in found.explanations[:8]],
        "alike": [sorted(name.split(" and ")) for name in found.top.alike], "poor": found.poor,
        "asked": [list(s.rows) for s in found.slips], "rows": list(rows), "shape": truth.shape,
        "pulls": [p.parameter for p in found.top.pulls], "fit": found.top.fit_probability,
        "seconds": time.process_time() - started,
    }  # fmt: skip


def _spoil(what: str, truth, plant, rng) -> tuple[str, ...]:
    if what == "healthy":
        return ("healthy",)
    if what == "slip":
        return (str(rng.choice(SLIPS)),)
    if what == "unknown":
        name = str(rng.choice(list(UNKNOWN)))
        truth.names = (name,)
        UNKNOWN[name](truth, plant, rng)
        return (name,)
    known = families_of(plant.kind)
    names = [str(rng.choice(known))]
    if what == "pair":
        alone = ("intermittent contact", "dead or stuck output", "cable strain")
        first = str(rng.choice([n for n in known if n not in alone]))
        others = [n for n in known if n not in alone and n != first and not {n, first} <= set(FACTORS)]
        names = [first, str(rng.choice(others))]
    for name in names:  # each of two is plain to see
        FAULTS[name](truth, plant, rng, int(rng.integers(3 if what == "known" else 2)) + (what == "pair"))
    return tuple(names)


def run(faulty: int, healthy: int, seed: int, seconds: float, path: Path) -> list[dict]:
    done = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {"next": 0, "found": []}
    jobs = [(i, True) for i in range(2 * faulty)] + [(i, False) for i in range(healthy)]
    order = np.random.Generator(np.random.PCG64(seed)).permutation(len(jobs))
    started = time.monotonic()
    while done["next"] < len(jobs) and time.monotonic() - started < seconds:
        if (item := study(*jobs[order[done["next"]]], seed)) is not None:
            done["found"].append(item)
        done["next"] += 1
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(done), encoding="utf-8")
    print(f"{done['next']} of {len(jobs)} drawn, {len(done['found'])} studied")
    return done["found"]


def share(hits: list[bool]) -> str:
    if not hits:
        return "-"
    low, high = binomtest(sum(hits), len(hits)).proportion_ci(method="wilson")
    return f"{100 * sum(hits) / len(hits):.1f} % of {len(hits)} [{100 * low:.1f}, {100 * high:.1f}]"


def first(o: dict) -> bool:
    return o["ranking"][0][0] == o["truth"]


def or_alike(o: dict) -> bool:
    return first(o) or o["truth"] in o["alike"]


def top_three(o: dict) -> bool:
    return o["truth"] in [names for names, _ in o["ranking"][:3]]


def called_faulty(o: dict) -> bool:
    return o["ranking"][0][0] not in (["healthy"], ["none of these"])


def confidently_wrong(o: dict) -> bool:
    return called_faulty(o) and not o["poor"] and o["ranking"][0][1] > 0.9


def report(found: list[dict]) -> None:
    groups = defaultdict(list)
    for o in found:
        groups[o["what"]].append(o)
    for what, test in (
        ("known", first),
        ("known", or_alike),
        ("known", top_three),
        ("pair", first),
        ("pair", or_alike),
    ):
        print(f"{what:8s} {test.__name__:12s} {share([test(o) for o in groups[what]])}")
    unknown = groups["unknown"]
    print("unknown  none of these first", share([o["ranking"][0][0] == ["none of these"] for o in unknown]))
    print(
        "unknown  none first or poor ", share([o["ranking"][0][0] == ["none of these"] or o["poor"] for o in unknown])
    )
    print("unknown  confident and wrong", share([confidently_wrong(o) for o in unknown]))
    print("healthy  called faulty      ", share([called_faulty(o) for o in groups["healthy"]]))
    print("healthy  none of these      ", share([o["ranking"][0][0] == ["none of these"] for o in groups["healthy"]]))
    print("healthy  asked about rows   ", share([bool(o["asked"]) for o in groups["healthy"]]))
    asked = lambda o: any(set(o["rows"]) & set(rows) for rows in o["asked"])  # noqa: E731
    worst = lambda o: max([w for n, w in o["ranking"] if n not in (["healthy"], ["none of these"])], default=0.0)  # noqa: E731
    print("slips    asked              ", share([asked(o) for o in groups["slip"]]))
    print("slips    a fault above 50 % ", share([worst(o) > 0.5 for o in groups["slip"]]))
    rest = [o for o in found if o["what"] in ("known", "healthy", "pair", "unknown")]
    print("weights (every explanation): given, right")
    for low, high in pairwise((0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.95, 0.99, 1.01)):
        chosen = [(w, _right(o, names)) for o in rest for names, w in o["ranking"] if low <= w < high]
        if chosen:
            print(f"  {100 * np.mean([w for w, _ in chosen]):5.1f} %: {share([hit for _, hit in chosen])}")
    for kind in KINDS:
        own = [o for o in rest if o["kind"] == kind and o["ranking"][0][1] > 0.99]
        known = [o for o in groups["known"] if o["kind"] == kind]
        right = share([_right(o, o["ranking"][0][0]) for o in own])
        print(f"  > 99 % {kind:18s} {right}; first {share([first(o) for o in known])}")
    seconds = np.array([o["seconds"] for o in found])
    print(f"CPU s a channel: median {np.median(seconds):.2f}, 99 % {np.quantile(seconds, 0.99):.2f}")
    for name in [*FAULTS, *UNKNOWN]:
        own = [o for o in found if o["truth"] == [name]]
        said = defaultdict(int)
        for o in own:
            said[" and ".join(o["ranking"][0][0])] += 1
        listed = ", ".join(f"{n} {c}" for n, c in sorted(said.items(), key=lambda i: -i[1])[:6])
        if own:
            print(f"  {name:24s} {sum(map(first, own))}/{sum(map(or_alike, own))} of {len(own)}: {listed}")


def _right(o: dict, names: list[str]) -> bool:
    """Of unknown behaviour, none of these is right; one of two faults named alone is not."""
    return names == (["none of these"] if o["what"] == "unknown" else o["truth"])


if __name__ == "__main__":
    given = [*sys.argv[1:], *("3000", "3000", "1", "280", "records/bench_field.json")[len(sys.argv) - 1 :]]
    report(run(int(given[0]), int(given[1]), int(given[2]), float(given[3]), Path(given[4])))
