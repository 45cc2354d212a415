"""Records per minute of `run` against plain papermill, and CPU seconds a record against the cells alone.

python -m tests.benchmarks.fleets.bench_fleet [CHANNELS] [PLAIN_RECORDS], by default 120 and 12. All in one run on one
machine. Plain papermill is called in process, once a record, one after the other. The floor is the same cells
executed in one warm interpreter, without kernel, message or file.
"""

from __future__ import annotations

import gc
import json
import logging
import os
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

from tests.support.sites.fleet_site import build_fleet, cpu_of_children, run_command
from vibcal_nb.model.names import SHAKER_TESTS
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.running.fleet.standard_notebooks import find_notebooks

POSITIONS = ("V11", "V12", "V21", "V22", "V31", "V32")


def measure_run(site: Path, out: Path, *options: str) -> tuple[float, float]:
    """Seconds and CPU seconds of one `run`."""
    started, cpu = time.monotonic(), cpu_of_children()
    done = subprocess.run(run_command(site, out, *options), capture_output=True, text=True, check=False)
    print(done.stdout.splitlines()[0], done.stderr.strip())
    return time.monotonic() - started, cpu_of_children() - cpu


def cases(site: Path, count: int) -> list[tuple[str, dict[str, str]]]:
    visits = sorted(site.glob("TG*/*-*-*"))
    found = []
    for number in range(count):
        visit = visits[number // 18 % len(visits)]
        channel = f"{visit.parent.name}-{POSITIONS[number // 3 % 6]}"
        parameters = {"visit_folder": visit.as_posix(), "channel": channel, "condition": "as-found"}
        found.append((analysis_named(SHAKER_TESTS[number % 3]).notebook, parameters))
    return found


def measure_plain(site: Path, out: Path, count: int) -> float:
    """Seconds a record of plain papermill."""
    import papermill

    logging.disable(logging.CRITICAL)
    out.mkdir()
    started = time.monotonic()
    for number, (notebook, parameters) in enumerate(cases(site, count)):
        papermill.execute_notebook(
            find_notebooks() / notebook,
            out / f"{number}.ipynb",
            parameters=parameters,
            progress_bar=False,
            extra_arguments=["--IPKernelApp.log_level=50"],
        )
    return (time.monotonic() - started) / count


def measure_floor(site: Path, count: int) -> float:
    """CPU seconds a record of the cells alone, once all imports and caches are warm."""
    from IPython.core.displaypub import CapturingDisplayPublisher
    from IPython.core.interactiveshell import InteractiveShell

    shell = InteractiveShell.instance()
    shell.display_pub = CapturingDisplayPublisher()
    warm_up = 3
    for number, (notebook, parameters) in enumerate(cases(site, warm_up + count)):
        if number == warm_up:
            gc.collect()
            gc.freeze()  # as in the template of warm kernels: else each reset would look through all imports
            started = time.process_time()
        shell.reset(new_session=False)
        cells = json.loads((find_notebooks() / notebook).read_text(encoding="utf-8"))["cells"]
        for cell in cells:
            if cell["cell_type"] == "code":
                assert shell.run_cell("".join(cell["source"])).success
            if "parameters" in cell["metadata"].get("tags", ()):
                shell.run_cell("\n".join(f"{name} = {value!r}" for name, value in parameters.items()))
        shell.display_pub.outputs.clear()
    return (time.process_time() - started) / count


def main() -> None:
    warnings.simplefilter("ignore")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    channels, plain_records = (int(a) for a in (*sys.argv[1:], *("120", "12")[len(sys.argv) - 1 :]))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        records = build_fleet(folder / "site", channels=channels)
        floor = measure_floor(folder / "site", 18)
        plain = measure_plain(folder / "site", folder / "plain", plain_records)
        seconds, cpu = measure_run(folder / "site", folder / "out", "--no-pdf")
        sheets_seconds, sheets_cpu = measure_run(folder / "site", folder / "out")
    print(f"load of the machine {os.getloadavg()[0]:.1f}, cores {os.cpu_count()}")
    print(f"plain papermill, one after the other: {60 / plain:.1f} records a minute ({plain:.2f} s each)")
    print(f"run on 2 cores: {60 * records / seconds:.1f} records a minute ({records} in {seconds:.1f} s)")
    print(f"  {plain * records / seconds:.1f} times as many")
    print(f"floor: {floor:.3f} CPU s a record; run: {cpu / records:.3f}, {cpu / records / floor:.2f} times the floor")
    print(f"sheets of {records // 3} channels afterwards: {sheets_seconds:.1f} s, {sheets_cpu:.1f} CPU s")


if __name__ == "__main__":
    main()
