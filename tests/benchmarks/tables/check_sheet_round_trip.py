"""A sheet through a spreadsheet program and back: ``python -m tests.benchmarks.tables.check_sheet_round_trip [OUT]``.

Makes a sheet for a demo asset, fills it in by a script, has LibreOffice (``apt-get install libreoffice-calc``) load
and save it, and reads it back; then the same by ``run``. With OUT it leaves the sheet and its picture there.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.support.sites.sheet_filling import fill_sheet
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.running.commands.cli import main as command

DEMO = Path(__file__).parents[3] / "data_demo"
ASSET, VISIT = "STG-1", "2027-05-11"


def make_site(folder: Path) -> Path:
    home = folder / ASSET / VISIT
    home.mkdir(parents=True)
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, folder)
    shutil.copy(DEMO / ASSET / "asset.toml", folder / ASSET)
    text = (DEMO / ASSET / "2026-05-19" / "visit.toml").read_text(encoding="utf-8")
    (home / "visit.toml").write_text(text.replace("2026-05-19", VISIT), encoding="utf-8")
    return home


def through_spreadsheet(path: Path, kind: str, out: Path) -> Path:
    subprocess.run(
        ["soffice", "--headless", "--convert-to", kind, "--outdir", str(out), str(path)],
        check=True,
        capture_output=True,
        timeout=180,
    )
    return out / f"{path.stem}.{kind}"


def meaning(home: Path) -> list[tuple[object, ...]]:
    readings = load_visit(home).table.readings
    return [
        (r.row, r.channel, r.test, r.frequency_hz, r.applied, r.applied_unit.text, r.output, r.note) for r in readings
    ]


def run(home: Path, out: Path) -> list[object]:
    status = command(["run", str(home), "--out", str(out), "--channel", "STG-1-V11"])
    results = json.loads(next(out.rglob("results.json")).read_text(encoding="utf-8"))["results"]
    return [status, *([entry["verdict"], entry["statement"], entry["quantities"]] for entry in results)]


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder)
        home = make_site(site / "site")
        assert command(["sheet", str(home)]) == 0
        sheet = home / "readings.xlsx"
        filled = fill_sheet(
            sheet,
            gain=lambda c: 0.93 if c["channel"] == "STG-1-V12" else 1.01,
            skip=lambda c: c["channel"] > "STG-1-V21",
        )
        before, first = meaning(home), run(home, site / "first")
        assert [(row[0], row[4], row[6]) for row in before] == filled
        saved = through_spreadsheet(sheet, "xlsx", site)
        if len(sys.argv) > 1:
            out = Path(sys.argv[1])
            out.mkdir(parents=True, exist_ok=True)
            pdf = through_spreadsheet(saved, "pdf", out)
            subprocess.run(["pdftoppm", "-r", "110", "-png", str(pdf), str(out / "sheet")], check=True)
            shutil.copy(saved, out)
        shutil.copy(saved, sheet)
        assert meaning(home) == before, "the spreadsheet program changed the readings"
        assert run(home, site / "second") == first, "the results differ"
    print(f"{len(before)} readings went through LibreOffice and back unchanged; results of `run` are the same.")


if __name__ == "__main__":
    main()
