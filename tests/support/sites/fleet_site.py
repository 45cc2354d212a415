"""A site of any size for the benchmarks: the demo turbine's latest visit, as found, under as many names as wanted."""

from __future__ import annotations

import csv
import shutil
import sys
from pathlib import Path

from tests.support.places import DEMO
from vibcal_nb.model.names import SHAKER_TESTS

CHANNELS_PER_ASSET = 6
ONLY = [argument for analysis in SHAKER_TESTS for argument in ("--analysis", analysis)]


def run_command(site: Path, out: Path, *options: str) -> list[str]:
    """The command that makes the fleet's records, three a channel, with two workers."""
    run = [sys.executable, "-m", "vibcal_nb", "run", str(site), "--out", str(out), "--workers", "2"]
    return [*run, *ONLY, *options]


def build_fleet(folder: Path, *, channels: int) -> int:
    """Write the site; return how many records it gives (three a channel)."""
    source = DEMO / "STG-1" / "2026-05-19"
    folder.mkdir(parents=True)
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, folder)
    with (source / "readings.csv").open(encoding="utf-8", newline="") as file:
        headings, *rows = csv.reader(file)
    wanted = [row for row in rows if row[1] in SHAKER_TESTS and row[2] == "as-found"]
    assets = -(-channels // CHANNELS_PER_ASSET)
    for number in range(assets):
        tag = f"TG{number:03d}"
        visit = folder / tag / source.name
        visit.mkdir(parents=True)
        text = (DEMO / "STG-1" / "asset.toml").read_text(encoding="utf-8").replace("STG-1", tag)
        (visit.parent / "asset.toml").write_text(text, encoding="utf-8")
        shutil.copy(source / "visit.toml", visit)
        with (visit / "readings.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([headings, *([row[0].replace("STG-1", tag), *row[1:]] for row in wanted)])
    return len({(row[0], row[1]) for row in wanted}) * assets


def cpu_of_children() -> float:
    """CPU seconds of the child processes that have ended, and of theirs."""
    import resource  # POSIX only

    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime
