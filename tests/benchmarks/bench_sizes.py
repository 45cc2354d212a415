"""Time and memory of records of very many readings: python -m tests.benchmarks.bench_sizes [ROWS...].

A visit of four channels, each with a quarter of the rows, all at fifty levels of a linearity test, as a logger writes
them: the repeats numbered through. Two records are made, of the linearity of one channel, and one is performed again
by `verify`. Memory is the most that the command's processes held at once, by what the system says of each.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import psutil

from tests.benchmarks.figures import store_figures
from tests.support.plants import ASSET, HEADINGS, build_site

CHANNELS = 4
LEVELS = np.linspace(2.0, 20.0, 50)


def rows(count: int, tag: str, *, first: int) -> list[str]:
    chance = np.random.default_rng(first)
    applied = np.resize(LEVELS, count) * (1.0 + 0.002 * chance.standard_normal(count))
    output = 4.05 * applied * (1.0 + 0.003 * chance.standard_normal(count))
    return [
        f"{tag},linearity,as-found,50,{x:.4f},mm/s pk,{y:.4f},mV pk,,{number},,"
        for number, (x, y) in enumerate(zip(applied, output, strict=True), start=1)
    ]


def site(folder: Path, count: int) -> Path:
    """Build a site of so many rows and return its visit."""
    tags = [f"STG-1-V1{number}" for number in range(1, CHANNELS + 1)]
    own = ASSET[ASSET.index("[channels.STG-1-V11]") :]
    asset = ASSET + "".join(own.replace("STG-1-V11", tag) for tag in tags[1:])
    readings = [row for number, tag in enumerate(tags) for row in rows(count // CHANNELS, tag, first=number)]
    return build_site(folder, readings, asset=asset, headings=HEADINGS)


def measured(command: list[str]) -> tuple[float, float, float]:
    """Run a command; return seconds of processor time and of the clock, and the most MB that its processes held."""
    started, most, spent = time.perf_counter(), 0.0, {}
    run = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    while run.poll() is None:
        held = 0.0
        for process in _family(run.pid):
            try:
                held += process.memory_full_info().pss / 1e6
                times = process.cpu_times()
                spent[process.pid] = times.user + times.system
            except (psutil.Error, AttributeError):
                continue
        most = max(most, held)
        time.sleep(0.1)
    assert run.stderr is not None
    complaint = run.stderr.read().decode()
    if run.returncode not in (0, 1):
        raise SystemExit(complaint)
    return sum(spent.values()), time.perf_counter() - started, most


def _family(pid: int) -> list[psutil.Process]:
    try:
        first = psutil.Process(pid)
        return [first, *first.children(recursive=True)]
    except psutil.Error:
        return []


def main() -> None:
    counts = [int(word) for word in sys.argv[1:]] or [20_000, 60_000, 200_000]
    lines = []
    for count in counts:
        with tempfile.TemporaryDirectory() as name:
            visit, out = site(Path(name) / "site", count), Path(name) / "records"
            words = [sys.executable, "-m", "vibcal_nb"]
            asked = ["--channel", "STG-1-V11", "--analysis", "linearity", "--workers", "1"]
            ran = measured([*words, "run", str(visit), "--out", str(out), *asked])
            record = next(out.rglob("linearity.as-found.ipynb"))
            sizes = [path.stat().st_size / 1e6 for path in (record, record.with_suffix(".html"))]
            sizes.append(record.with_name("STG-1-V11.pdf").stat().st_size / 1e6)
            again = measured([*words, "verify", str(record), "--workers", "1"])
            cells = [
                f"{ran[0]:.1f}",
                f"{ran[2]:.0f}",
                f"{again[0]:.1f}",
                f"{again[2]:.0f}",
                *(f"{s:.1f}" for s in sizes),
            ]
            lines.append(f"| {count} | {count // CHANNELS} | {' | '.join(cells)} |")
            print(lines[-1], flush=True)
    head = "| rows | of the channel | run, s | MB | verify, s | MB | record, MB | page, MB | report, MB |"
    text = "\n".join([head, "|" + "---|" * 9, *lines]) + "\n\nSeconds are of processor time."
    store_figures("Very many readings", text, command="python -m tests.benchmarks.bench_sizes")


if __name__ == "__main__":
    main()
