"""Time and memory of a record of very many readings: python -m tests.benchmarks.fleets.bench_sizes [ROWS...].

A visit of four channels, each with a quarter of the rows, all at fifty levels of a linearity test, as a logger writes
them: the repeats numbered through. What a kernel does for the record of one channel is done in a process of its own:
the visit is read, the channel analysed, everything of the record shown and sealed, and its page made. Memory is the
most that the process ever held.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

from tests.benchmarks.figures import store_figures
from tests.support.sites.plants import ASSET, build_site
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.notebook.show import show
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.seal.seal import make_seal

CHANNELS = 4
LEVELS = np.linspace(2.0, 20.0, 50)
TAG = "STG-1-V11"


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
    own = ASSET[ASSET.index(f"[channels.{TAG}]") :]
    asset = ASSET + "".join(own.replace(TAG, tag) for tag in tags[1:])
    readings = [row for number, tag in enumerate(tags) for row in rows(count // CHANNELS, tag, first=number)]
    return build_site(folder, readings, asset=asset)


def measured(count: int) -> list[str]:
    """Make what a record of so many rows holds; return the cells of its row of figures."""
    spent: dict[str, float] = {}

    def step(name: str, act: Callable[[], Any]) -> Any:
        started = time.process_time()
        done = act()
        spent[name] = time.process_time() - started
        return done

    outputs: list[dict[str, Any]] = []
    with tempfile.TemporaryDirectory() as name, patch.object(show, "html", lambda *said: outputs.append(_shown(*said))):
        path = site(Path(name), count)
        visit = step("read", lambda: load_visit(path))
        case = select_case(visit, channel=TAG, test="linearity", condition="as-found")
        result = step("analysed", lambda: perform(visit, channel=TAG, analysis="linearity", condition="as-found"))
        entry = step("stated", lambda: {"result": result_entry(result), "inputs": state_test(case)})
        step("shown", lambda: [act(result) for act in (show.figure, show.points, show.further, show.summary)])
    outputs.append({"output_type": "display_data", "metadata": {}, "data": entry})
    cells = [{"cell_type": "code", "id": "a", "metadata": {}, "source": [], "outputs": outputs}]
    notebook = {"cells": cells, "metadata": {"vibcal_nb": {}}, "nbformat": 4, "nbformat_minor": 5}
    step("sealed", lambda: make_seal(notebook))
    size = len(step("kept", lambda: kept_bytes(notebook))) / 1e6
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024.0 if sys.platform != "darwin" else 1024.0**2)
    shown = sum(len(text) for output in outputs[:-1] for text in output["data"].values()) / 1e6
    times = [f"{seconds:.1f}" for seconds in spent.values()]
    sizes = [f"{sum(spent.values()):.1f}", f"{most:.0f}", f"{size:.1f}", f"{shown:.2f}"]
    return [str(count), str(count // CHANNELS), *times, *sizes]


def _shown(content: str, text: str) -> dict[str, Any]:
    return {"output_type": "display_data", "metadata": {}, "data": {"text/html": content, "text/plain": text}}


def main() -> None:
    counts = [int(word) for word in sys.argv[1:]] or [20_000, 60_000, 199_996]  # and headings: what a table holds
    with ProcessPoolExecutor(1, mp_context=get_context("spawn"), max_tasks_per_child=1) as pool:
        lines = [f"| {' | '.join(cells)} |" for cells in pool.map(measured, counts)]
    names = "rows, of the channel, read, analysed, stated, shown, sealed, kept, all, MB held, MB record, MB shown"
    head = f"| {names.replace(', ', ' | ')} |"
    text = "\n".join([head, "|" + "---|" * 12, *lines]) + "\n\nSeconds are of processor time."
    print(text)
    store_figures("Very many readings", text, command="python -m tests.benchmarks.fleets.bench_sizes")


if __name__ == "__main__":
    main()
