"""A stranger's site of 14 channels of ten kinds and four old tables, from nothing to records, and changed afterwards.

    python -m tests.benchmarks.tables.bench_strangers_site [store]

Times are the machine's; a person's typing is not in them. Past verdicts are compared entry by entry, as they are kept.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.figures import store_figures
from tests.support.sites.filled_in import lines_of_toml
from tests.support.sites.strangers_site import CHANNELS, DAY, bring_in, change_later, describe, entries
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.register.register import read_rows, register_path
from vibcal_nb.running.commands.cli import main as command


def main(*, store: bool) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = measured(Path(folder))
    print("\n".join(lines))
    if store:
        made = "python -m tests.benchmarks.tables.bench_strangers_site store"
        store_figures("A stranger's site", "\n".join(lines), command=made)


def measured(folder: Path) -> list[str]:
    site, records = folder / "site", folder / "records"
    lines = ["| step | what came of it | s | CPU s |", "|---|---|---|---|"]

    def step(name: str, do: Callable[[], object], said: Callable[[object], str]) -> object:
        began, cpu = time.perf_counter(), _cpu()
        with contextlib.redirect_stdout(io.StringIO()):
            found = do()
        took, used = time.perf_counter() - began, _cpu() - cpu
        lines.append(f"| {name} | {said(found)} | {took:.1f} | {used:.1f} |")
        return found

    step("described by new", lambda: describe(site), lambda _: _described(site))
    for asset in CHANNELS:
        step(f"old table of {asset}", lambda asset=asset: bring_in(site, asset), lambda _, a=asset: _brought(site, a))
    step("check", lambda: command(["check", str(site)]), lambda status: f"status {status}")
    step("run", lambda: _run(site, records), lambda _: f"{len(_rows(records))} records")
    before, kept = entries(site, renamed={}), _rows(records)
    renamed = change_later(site)
    after = entries(site, renamed=renamed)
    changed = len(set(before) ^ set(after))
    lines.append(f"| exchange, restated limit, new tag | {changed} of {len(before)} past results differ | | |")
    step(
        "run again", lambda: _run(site, records), lambda _: f"{len(_rows(records)) - len(kept)} records made or revised"
    )
    now = {(row[0], row[1], row[2]): row[3] for row in _rows(records)}
    moved = [key for *key, verdict in map(list, kept) if now.get(tuple(key), verdict) != verdict]
    lines.append(f"| verdicts of the records before | {len(moved)} of {len(kept)} moved | | |")
    return lines


def _run(site: Path, records: Path) -> int:
    return command(["run", str(site), "--out", str(records)])


def _rows(records: Path) -> list[tuple[str, ...]]:
    return [
        tuple(map(str, row))
        for row in read_rows(register_path(records), ("channel", "analysis", "condition", "verdict"))
    ]


def _described(site: Path) -> str:
    lines = lines_of_toml(*site.glob("*.toml"), *site.glob("*/asset.toml"))
    return f"{sum(1 for _ in site.glob('*/asset.toml'))} assets, 14 channels, {lines} lines of TOML"


def _brought(site: Path, asset: str) -> str:
    return f"{len(load_visit(site / asset / DAY).table.readings)} readings"


def _cpu() -> float:
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


if __name__ == "__main__":
    main(store="store" in sys.argv)
