"""How fast is a register of 100 000 results looked at, and how fast is one made anew from records? By hand:

python -m tests.benchmarks.fleets.bench_register [CHANNELS [RESULTS [RECORDS]]]
"""

from __future__ import annotations

import resource
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import date
from itertools import islice
from pathlib import Path

from tests.support.sites.made_up_site import register_rows
from vibcal_nb.records.register.register import append_rows, register_path

LOOK = """
import resource, sys, time
from datetime import date
from pathlib import Path
started = time.perf_counter()
from vibcal_nb.display.site.margin_plots import margins_picture
from vibcal_nb.display.site.site_matrix import matrix_html
from vibcal_nb.display.site.site_tables import actions_table
from vibcal_nb.records.register.register import check_chain, register_path
from vibcal_nb.notebook.site import overview_of_folder
lap = lambda what: print(f"    {time.perf_counter() - started:5.2f} s ({time.process_time():5.2f} s of CPU)  {what}")
lap("imports and interpreter")
overview = overview_of_folder(Path(sys.argv[1]), on=date(2026, 6, 15), interval_months=13.0)
lap(f"{overview.results} results of {len(overview.channels)} channels looked at, {len(overview.shifts)} shifts")
html = matrix_html(overview, overview.channels) + actions_table(overview).to_html()
margins_picture(overview)
lap(f"page of {len(html) / 1e6:.1f} MB")
print(f"    {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")
started = time.perf_counter()
problems = check_chain(register_path(Path(sys.argv[1])))
lap(f"chain checked, {len(problems)} problems")
"""


def look(channels, results, folder):
    years = (2022, 2023, 2024, 2026)
    started = time.perf_counter()
    rows = register_rows(channels, years=years, shifts={2023: 2.5})
    count = append_rows(register_path(folder), islice(rows, results))
    seconds = time.perf_counter() - started
    size = register_path(folder).stat().st_size / 1e6
    print(f"{count} results of {channels} channels appended in {seconds:.0f} s, {size:.0f} MB; looked at:")
    subprocess.run([sys.executable, "-c", LOOK, str(folder)], check=True)


def rebuild(records, folder):
    """Copies of one demo record that `run` made, each under its own channel's folder."""
    from vibcal_nb.records.register.register_records import rebuild_register

    root = Path(__file__).parents[3]
    run = [sys.executable, "-m", "vibcal_nb", "run", root / "data_demo" / "STG-1" / "2026-05-19"]
    run += ["--channel", "STG-1-V21", "--analysis", "linearity", "--out", folder / "one"]
    subprocess.run(run, check=False, stdout=subprocess.DEVNULL)
    (record,) = (folder / "one").rglob("linearity.as-found.ipynb")
    for number in range(records):
        copy = folder / "many" / "STG-1" / "2026-05-19" / f"V{number}" / record.name
        copy.parent.mkdir(parents=True)
        shutil.copy(record, copy)
    started, cpu = time.perf_counter(), time.process_time()
    rebuilt = rebuild_register(folder / "many")
    seconds, cpu = time.perf_counter() - started, time.process_time() - cpu
    size = record.stat().st_size / 1e3
    print(
        f"register made anew ({rebuilt.rows} row) from {records} copies of a record of {size:.0f} kB: "
        f"{records / seconds:.0f} records a second read "
        f"({records / cpu:.0f} a second of CPU)"
    )


def append_one_by_one(folder, count=200):
    rows = list(register_rows(count, years=(2026,)))[:count]
    started = time.perf_counter()
    for row in rows:
        append_rows(register_path(folder), [row])
    print(f"appended one by one: {1e3 * (time.perf_counter() - started) / count:.1f} ms each")


def main():
    channels = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    results = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    records = int(sys.argv[3]) if len(sys.argv) > 3 else 1000
    for task, argument in ((look, (channels, results)), (rebuild, (records,)), (append_one_by_one, ())):
        with tempfile.TemporaryDirectory() as name:
            task(*argument, Path(name))
    print(f"{date.today()}: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB in this process")


if __name__ == "__main__":
    main()
