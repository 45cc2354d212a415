"""How fast a touchable figure follows a hand, in chromium: python -m tests.benchmarks.speed.bench_latency [NAME ...].

For each panel: from a key on a limit, from a click and from Space on a reading, to the frame in which everything that
it changes, picture, verdict and table, is on the screen; a drag, 60 events a second, whose last picture must be that of
the last value; and from running the cell to its first picture.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.browser import latency
from tests.browser.lab import Notebook, running_browser, running_lab

MOVES = 40
EVENTS = 120
FIRST = 5


def main(names: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder, running_lab(Path(folder)) as address, running_browser() as new_page:
        for name in names or latency.GRIPS:
            notebook = Notebook(new_page(), address, name)
            notebook.run_all()
            notebook.to_panel()
            for how in ("key", "click", "space"):
                print(f"{name + ', ' + how:24}", latency.move(notebook, how, MOVES), flush=True)
            print(f"{name + ', drag':24}", latency.drag(notebook, EVENTS), flush=True)
            first = [latency.first_picture(notebook) for _ in range(FIRST)]
            print(f"{name + ', first picture':24} median {np.median(first):.0f} ms of {FIRST}", flush=True)
            notebook.page.close()


if __name__ == "__main__":
    main(sys.argv[1:])
