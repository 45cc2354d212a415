"""Time, processor time and memory of a large run: 500 and 1000 channels.

python -m tests.benchmarks.fleets.bench_fleet_scale [CHANNELS...], by default 500 and 1000. Memory is the resident set
of the parent process, read twice a second; growth is from the first tenth of the records to the end.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.support.sites.fleet_site import build_fleet, cpu_of_children, run_command


def resident_mb(process: int) -> float:
    for line in Path(f"/proc/{process}/status").read_text(encoding="utf-8").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    return 0.0


def measure(channels: int) -> tuple[int, float, float, list[float]]:
    """Records, seconds, CPU seconds of the run and all its processes, and the parent's memory over time."""
    with tempfile.TemporaryDirectory() as name:
        records = build_fleet(Path(name) / "site", channels=channels)
        started, before, memory = time.monotonic(), cpu_of_children(), []
        command = run_command(Path(name) / "site", Path(name) / "out", "--no-pdf")
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as run:
            while run.poll() is None:
                memory.append(resident_mb(run.pid))
                time.sleep(0.5)
            print(run.stdout.readline().strip() if run.stdout else "")
        return records, time.monotonic() - started, cpu_of_children() - before, [value for value in memory if value]


def main() -> None:
    sizes = [int(a) for a in sys.argv[1:]] or [500, 1000]
    taken = []
    for channels in sizes:
        records, seconds, cpu, memory = measure(channels)
        taken.append((seconds, cpu))
        growth = max(memory) - memory[len(memory) // 10]
        print(f"{channels} channels, {records} records: {seconds:.0f} s, {60 * records / seconds:.1f} a minute")
        print(f"  {cpu / records:.3f} s of CPU a record; parent {max(memory):.0f} MB at most, growth {growth:.0f} MB")
    for small, large, one, other in zip(sizes, sizes[1:], taken, taken[1:], strict=False):
        longer, busier = (after / before for before, after in zip(one, other, strict=True))
        print(f"{small} against {large} channels: {longer:.2f} times as long, {busier:.2f} times the CPU")


if __name__ == "__main__":
    main()
