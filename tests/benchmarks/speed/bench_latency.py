"""How fast a panel follows a control, in the browser: python -m tests.benchmarks.speed.bench_latency [NAME ...].

For each panel: from the key press (or choice) to the frame in which everything that it changes, picture, verdict and
table, is on the screen; and a drag, key presses at 60 a second, whose last picture must be that of the last value.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.browser import latency
from tests.browser.lab import Notebook, running_browser, running_lab

MOVES = 35
PRESSES = 120
PANELS = {
    "linearity": ("key",),
    "band_response": ("key",),
    "sensor_alone": ("key",),
    "fault_finding": ("choose", "leave out"),
}


def main(names: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder, running_lab(Path(folder)) as address, running_browser() as new_page:
        for name in names or PANELS:
            notebook = Notebook(new_page(), address, name)
            notebook.run_all()
            notebook.to_panel()
            slider = latency.SLIDERS.get(name, 0)
            for how in PANELS[name]:
                print(f"{name + ', ' + how:24}", latency.move(notebook, slider, how, MOVES), flush=True)
            if PANELS[name] == ("key",):
                print(f"{name + ', drag':24}", latency.drag(notebook, slider, PRESSES), flush=True)
            notebook.page.close()


if __name__ == "__main__":
    main(sys.argv[1:])
