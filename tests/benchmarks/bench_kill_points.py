"""A run stopped at every operation on the disk, run again, and looked at: python -m tests.benchmarks.bench_kill_points.

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
from pathlib import Path

from tests.benchmarks.figures import store_figures
from tests.support.interrupted_runs import Place, broken, lasting, prepare, run, stopped_run, without_kernels
from tests.support.performed import remember_performances

SCENES = ("a first record", "a signed record, revised", "a signed revision, revised")


def put_back(base: Path, place: Place) -> None:
    shutil.rmtree(place.folder, ignore_errors=True)
    shutil.copytree(base, place.folder)


def main() -> None:
    twice = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    remember_performances()
    kinds: Counter[str] = Counter()
    lines, faults, points = [], 0, []
    with tempfile.TemporaryDirectory() as name, without_kernels():
        place, key = Place(folder=Path(name) / "place"), Path(name) / "key"
        subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
        for revisions, scene in enumerate(SCENES):
            base = Path(name) / f"base-{revisions}"
            prepare(place, revisions=revisions, key=key)
            before = lasting(place) if revisions else Counter()
            shutil.copytree(place.folder, base)
            count = stopped_run(place, None).done
            stops = [(first, None) for first in range(1, count + 1)]
            points += [(revisions, first) for first, _ in stops]
            found = look(place, base, before, stops, revision=revisions + 1, kinds=kinds)
            lines.append(f"| {scene} | {count} | {found} |")
            faults += found
            chance = random.Random(revisions)
            doubles = [(chance.randint(1, count), chance.randint(1, count)) for _ in range(twice // len(SCENES))]
            found = look(place, base, before, doubles, revision=revisions + 1, kinds=Counter())
            lines.append(f"| {scene}, stopped again while that is mended | {len(doubles)} | {found} |")
            faults += found
            shutil.rmtree(place.folder)
    named = ", ".join(f"{number} {kind}" for kind, number in kinds.most_common())
    table = "\n".join(["| run | points | not as after a run that nobody stopped |", "|---|---|---|", *lines])
    text = f"{table}\n\nOperations at which it was stopped once: {named}."
    print(text)
    store_figures("Runs stopped at every operation", text, command="python -m tests.benchmarks.bench_kill_points")
    raise SystemExit(bool(faults))


def look(
    place: Place,
    base: Path,
    before: Counter[bytes],
    stops: list[tuple[int, int | None]],
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
