"""Time to seal a record, to make its page, to make a channel's sheet: python -m tests.benchmarks.fleets.bench_records.

Run it on an idle machine: figures are drawn by one core.
"""

from __future__ import annotations

import json
import statistics
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.support.kept.channel_report import keep_results
from vibcal_nb.display.results.figures import result_picture
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.report.channel_report import write_channel_sheet
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.page import record_page
from vibcal_nb.records.seal.seal import make_seal

ROOT = Path(__file__).parents[3]
GOLDEN = ROOT / "tests" / "golden" / "schema_1" / "FDF-3-V11" / "linearity.as-found.ipynb"


def median_ms(action, *, times=9):
    """Return the median time of this process on its processors: what others do beside it matters less."""
    action()
    spent = []
    for _ in range(times):
        started = time.process_time()
        action()
        spent.append(time.process_time() - started)
    return 1000.0 * statistics.median(spent)


def main():
    notebook = json.loads(GOLDEN.read_bytes())
    data = kept_bytes(notebook)
    print(f"seal a record            {median_ms(lambda: make_seal(notebook)):7.1f} ms")
    print(f"write its kept form      {median_ms(lambda: kept_bytes(notebook)):7.1f} ms")
    size = len(record_page(notebook))
    print(f"make its page            {median_ms(lambda: record_page(notebook)):7.1f} ms, {size} bytes")
    print(f"check its seal           {median_ms(lambda: check_seal(data)):7.1f} ms")
    folder = load_visit(ROOT / "data_demo" / "STG-1" / "2026-05-19")
    names = [(test, "as-found") for test in ("linearity", "band-response", "sensor-alone")]
    with TemporaryDirectory() as out:
        entries = keep_results(folder, Path(out), channel="STG-1-V11")
        whole = median_ms(lambda: write_channel_sheet(folder, entries, results_folder=Path(out)))
    results = [perform(folder, channel="STG-1-V11", analysis=test, condition=condition) for test, condition in names]
    figures = median_ms(lambda: [result_picture(result) for result in results])
    analyses = median_ms(
        lambda: [perform(folder, channel="STG-1-V11", analysis=test, condition=condition) for test, condition in names]
    )
    print(f"a channel's sheet        {whole:7.1f} ms, of which {figures:.1f} figures and {analyses:.1f} analyses")


if __name__ == "__main__":
    main()
