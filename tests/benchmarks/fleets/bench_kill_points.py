"""A run stopped at every operation on the disk and run again: python -m tests.benchmarks.fleets.bench_kill_points.

[TWICE] is how many of the points are stopped a second time, while the first stop is mended; by default 60. The runs are
a first record, a revision of a signed record, and a revision of a revision, each with page, report, results, register,
sign-off with its signature, and witness. Figures go to FIGURES.md.
"""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import NamedTuple

from tests.benchmarks.figures import store_figures
from tests.support.kept.performed import remember_performances
from tests.support.running.interrupted_runs import Place, broken, lasting, prepare, run, stopped_run, without_kernels

SCENES = ("a first record", "a signed record, revised", "a signed revision, revised")


def put_back(base: Path, place: Place) -> None:
    shutil.rmtree(place.folder, ignore_errors=True)
    shutil.copytree(base, place.folder)


def main() -> None:
    twice = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    with ProcessPoolExecutor(len(SCENES), mp_context=get_context("spawn")) as pool:
        found = list(pool.map(stopped_scene, range(len(SCENES)), [twice // len(SCENES)] * len(SCENES)))
    kinds = sum((scene.kinds for scene in found), Counter[str]())
    named = ", ".join(f"{number} {kind}" for kind, number in kinds.most_common())
    rows = [f"| {name} | {count} | {faults} |" for scene in found for name, count, faults in scene.rows]
    table = "\n".join(["| run | points | not as after a run that nobody stopped |", "|---|---|---|", *rows])
    text = f"{table}\n\nOperations at which it was stopped once: {named}."
    print(text)
    store_figures(
        "Runs stopped at every operation", text, command="python -m tests.benchmarks.fleets.bench_kill_points"
    )
    raise SystemExit(any(faults for scene in found for _, _, faults in scene.rows))


class Scene(NamedTuple):
    """What came of a scene: its rows (what, how many points, after how many something is not in order), operations."""

    rows: list[tuple[str, int, int]]
    kinds: Counter[str]


def stopped_scene(revisions: int, twice: int) -> Scene:
    """Stop a run over a record of so many revisions at every operation, and so often a second time."""
    remember_performances()
    kinds: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name, without_kernels():
        place, key, base = Place(folder=Path(name) / "place"), Path(name) / "key", Path(name) / "base"
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
        prepare(place, revisions=revisions, key=key)
        before = lasting(place) if revisions else Counter()
        shutil.copytree(place.folder, base)
        count = stopped_run(place, None).done
        stops = [(first, None) for first in range(1, count + 1)]
        once = look(place, base, before, stops, revision=revisions + 1, kinds=kinds)
        chance = random.Random(revisions)
        doubles = [(chance.randint(1, count), chance.randint(1, count)) for _ in range(twice)]
        again = look(place, base, before, doubles, revision=revisions + 1, kinds=Counter())
    named = SCENES[revisions]
    rows = [(named, count, once), (f"{named}, stopped again while that is mended", twice, again)]
    return Scene(rows, kinds)


def look(
    place: Place,
    base: Path,
    before: Counter[bytes],
    stops: Sequence[tuple[int, int | None]],
    *,
    revision: int,
    kinds: Counter[str],
) -> int:
    """Stop at each point, run again, and return after how many something is not in order."""
    faults = 0
    for first, second in stops:
        put_back(base, place)
        kinds[stopped_run(place, first).kinds[-1]] += 1
        if second is not None:
            stopped_run(place, second)
        status = run(place)
        said = [*broken(place, before, revision=revision), *([f"exit status {status}"] if status else [])]
        faults += bool(said)
        print(f"{revision} {first} {second}: {said}" if said else ".", end="\n" if said else "", flush=True)
    print()
    return faults


if __name__ == "__main__":
    main()
