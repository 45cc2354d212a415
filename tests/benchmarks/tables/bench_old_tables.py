"""How long old tables take to bring in (propose, read, write, read back), and what becomes of each number.

python -m tests.benchmarks.tables.bench_old_tables [store]
"""

from __future__ import annotations

import sys
import tempfile
import time
from datetime import date
from pathlib import Path

from tests.benchmarks.figures import store_figures
from tests.support.sites.old_workbooks import ALL, ASSET, GAIN
from tests.support.sites.plants import EQUIPMENT, VISIT
from vibcal_nb.inputs.grids.grid import address
from vibcal_nb.inputs.grids.read_grids import read_grids
from vibcal_nb.inputs.layout.laid_out import looks_like_number
from vibcal_nb.inputs.layout.read_layout import read_layout_file
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.inputs.propose.propose import propose_layout
from vibcal_nb.records.old_tables.bring import bring
from vibcal_nb.records.old_tables.write_brought import write_brought


def main(*, store: bool) -> None:
    lines = [
        "| table | cells | numbers | readings | left out | open | proposed, ms | read, ms | written, ms |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for make in ALL:
        with tempfile.TemporaryDirectory() as folder:
            lines.append(_measured(make, Path(folder)))
    print("\n".join(lines))
    if store:
        store_figures(
            "Old tables", "\n".join(lines), command="python -m tests.benchmarks.tables.bench_old_tables store"
        )


def _measured(make, folder: Path) -> str:
    old, visit = make(folder), folder / "site" / "STG-1" / "2026-05-19"
    visit.mkdir(parents=True)
    (visit / "visit.toml").write_text(VISIT, encoding="utf-8")
    (visit.parent / "asset.toml").write_text(ASSET, encoding="utf-8")
    (visit.parent.parent / "equipment.toml").write_text(EQUIPMENT, encoding="utf-8")
    asset = load_asset_folder(visit.parent).asset
    (folder / "layout.toml").write_text(old.layout, encoding="utf-8")
    layout = read_layout_file(folder / "layout.toml", [])
    began = time.process_time()
    proposal = propose_layout(old.path, read_grids(old.path, []), tags=list(GAIN))
    proposed = time.process_time()
    brought = bring([old.path], layout, asset=asset, day=date(2026, 5, 19))
    read = time.process_time()
    write_brought(visit, brought, asset=asset, layout="layout.toml")
    back = load_visit(visit).table
    written = time.process_time()
    assert len(back.readings) == old.readings
    grids = brought.files[0].table.grids
    account = brought.files[0].account
    cells = [(grid.name, address(row, column), cell) for grid in grids for row, column, cell in grid.filled()]
    numbers = [(sheet, place) for sheet, place, cell in cells if looks_like_number(cell)]
    left = len(account.numbers_left_out)
    assert len(numbers) == sum(place in account.used for place in numbers) + left
    took = (1e3 * (b - a) for a, b in ((began, proposed), (proposed, read), (read, written)))
    name = make.__name__.replace("_", " ")
    return (
        f"| {name} | {len(cells)} | {len(numbers)} | {old.readings} | {left} | {len(proposal.open)} | "
        + " | ".join(f"{ms:.0f}" for ms in took)
        + " |"
    )


if __name__ == "__main__":
    main(store="store" in sys.argv)
