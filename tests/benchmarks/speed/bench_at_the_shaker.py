"""A whole visit entered in a browser as a person enters it: slips asked about, time to the answer, the same verdicts.

python -m tests.benchmarks.speed.bench_at_the_shaker [FOLDER FOR SCREENSHOTS]. Four channels by the keyboard alone, five
slips planted, on until the table has more than 200 rows; then the same table by `run`; then some readings by touch.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import sync_playwright

from tests.benchmarks.figures import store_figures
from tests.browser.lab import find_browser, running_lab
from tests.browser.shaker import ShakerScreen, name_visit, open_screen
from tests.support.places import ROOT

CHANNELS = ("STG-1-V11", "STG-1-V12", "STG-1-V31", "STG-1-V32")
PLANTED = {3: 2**0.5, 20: 10.0, 47: 0.5, 75: 1.0 / 9.80665, 100: 25.4}
TESTS = ("linearity", "band-response", "sensor-alone")
ROWS = 200
MEASURED = 60
DAY = "2026-05-26"


def main() -> None:
    shots = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    with tempfile.TemporaryDirectory() as name, running_lab(Path(name)) as address, sync_playwright() as playwright:
        root = Path(name) / "root"
        visit = root / "data_demo" / "STG-1" / DAY
        visit.mkdir()
        (visit / "visit.toml").write_text(f"date = {DAY}\nequipment = []\n", encoding="utf-8")
        notebook = root / "notebooks" / "at_the_shaker.ipynb"
        name_visit(notebook, visit_folder=f"../data_demo/STG-1/{DAY}", channels=",".join(CHANNELS))
        browser = playwright.chromium.launch(executable_path=find_browser(), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1024, "height": 768})
        _, screen = open_screen(page, address)
        screen.root.locator("button", has_text="Whole screen").click()
        _state_head(screen, page)
        asked, entered = _enter_all(screen, page, shots)
        shown = _shown_verdicts(screen, page, shots)
        late = _enter_more(screen, page)
        page.close()
        made = _run(root / "data_demo" / "STG-1" / DAY, Path(name) / "records")
        touch = browser.new_context(viewport={"width": 1024, "height": 768}, has_touch=True)
        tapped = _tap(touch.new_page(), address, shots)
        browser.close()
    right = sum(number in PLANTED for number in asked)
    same = sum(shown[key] == made.get(key) for key in shown)
    text = (
        f"{len(CHANNELS)} channels, {entered} readings by the keyboard, {len(PLANTED)} slips planted: {right} asked "
        f"about before the next reading, {len(asked) - right} other questions.\n\n"
        f"From *Enter* to the frame after the answer, ms, median and 95th percentile: "
        f"{np.median(late):.0f} and {np.percentile(late, 95):.0f}, the last {len(late)} readings of a table of "
        f"{ROWS} rows and more; load average of the machine meanwhile {os.getloadavg()[0]:.0f}.\n\n"
        f"Of {len(shown)} verdicts shown, `run` made {same} the same from the table.\n\n"
        f"By touch alone, on the screen's keypad: {len(tapped)} readings, median {np.median(tapped):.0f} ms."
    )
    print(text, {key: (shown[key], made.get(key)) for key in shown if shown[key] != made.get(key)})
    store_figures("At the shaker", text, command="python -m tests.benchmarks.speed.bench_at_the_shaker")


def _state_head(screen: ShakerScreen, page: Any) -> None:
    page.locator("input[name=performed_by]").focus()
    page.keyboard.type("Technician A")
    for item in ("REF-26", "DVM-26"):
        page.locator(f"input[value={item}]").focus()
        page.keyboard.press("Space")
    page.locator("button[data-do=head]").focus()
    page.keyboard.press("Enter")
    screen.rest()
    page.wait_for_timeout(300)


def _next(screen: ShakerScreen) -> tuple[str, float] | None:
    """The level that the screen asks for, and what it says that a good channel gives; None where nothing is left."""
    said = screen.text("step").replace("\u00a0", " ").replace("−", "-")
    found = re.search(r"Set ([\d.]+) .*A good channel gives ([-\d.e]+)", said, re.DOTALL)
    return None if found is None else (found[1], float(found[2]))


def _enter_all(screen: ShakerScreen, page: Any, shots: Path | None) -> tuple[list[int], int]:
    generator = np.random.default_rng(23)
    asked, number, channel = [], 0, 0
    while channel < len(CHANNELS):
        step = _next(screen)
        if step is None:
            channel += 1
            if channel < len(CHANNELS):
                page.locator(f"button[data-do=channel][data-tag={CHANNELS[channel]}]").focus()
                page.keyboard.press("Enter")
                screen.rest()
                page.locator('[data-field="level"]').focus()
            continue
        level, good = step
        output = good * (1.0 + 0.001 * generator.standard_normal()) * PLANTED.get(number, 1.0)
        screen.type_reading(level, f"{output:.4g}")
        if screen.is_asking():
            asked.append(number)
            page.wait_for_timeout(550)
            if shots:
                page.screenshot(path=shots / f"asked-{number}.png")
            offered = screen.root.locator('[data-letter="M"]').count()
            page.keyboard.press(("m" if offered else "r") if number in PLANTED else "k")
            screen.rest()
        number += 1
        if shots and number in (6, 40, 130):
            page.screenshot(path=shots / f"entered-{number}.png")
    return asked, number


def _shown_verdicts(screen: ShakerScreen, page: Any, shots: Path | None) -> dict[tuple[str, str], str]:
    shown = {}
    for tag in CHANNELS:
        page.locator(f"button[data-do=channel][data-tag={tag}]").click()
        screen.rest()
        page.keyboard.press("F8")
        screen.rest()
        page.wait_for_timeout(200)
        said = screen.text("page").replace("\u00a0", " ")
        for test in TESTS:
            found = re.search(rf"{test.replace('-', ' ')}\s+[✓✗?~!]+ ([a-z ]+)\n", said)
            shown[tag, test] = found[1].strip() if found else ""
        if shots:
            page.screenshot(path=shots / f"come-off-{tag}.png")
        page.keyboard.press("Escape")
        screen.rest()
    return shown


def _enter_more(screen: ShakerScreen, page: Any) -> list[float]:
    """Runs once more, until the table has more than ``ROWS`` rows; times of the last readings."""
    generator = np.random.default_rng(24)
    rows = count = 0
    while rows < ROWS + 20:
        step = _next(screen)
        if step is None:
            page.keyboard.press("F9")
            screen.rest()
            page.locator('button[data-do="once more"][data-test="band-response"]').click()
            screen.rest()
            page.locator('[data-field="level"]').focus()
            continue
        screen.type_reading(step[0], f"{step[1] * (1.0 + 0.001 * generator.standard_normal()):.4g}")
        count += 1
        if screen.is_asking():
            page.wait_for_timeout(550)
            page.keyboard.press("k")
            screen.rest()
        found = re.search(r"kept in row (\d+)", screen.text("answer"))
        rows = int(found[1]) if found else rows
    return screen.times()[-min(MEASURED, count) :]


def _run(visit: Path, records: Path) -> dict[tuple[str, str], str]:
    command = [sys.executable, "-m", "vibcal_nb", "run", str(visit), "--out", str(records), "--workers", "1"]
    command += [part for test in TESTS for part in ("--analysis", test)]
    subprocess.run(command, cwd=ROOT, check=False, capture_output=True)
    (path,) = records.rglob("results.json")
    results = json.loads(path.read_text(encoding="utf-8"))["results"]
    return {(item["channel"], item["analysis"]): item["verdict"] for item in results}


def _tap(page: Any, address: str, shots: Path | None) -> list[float]:
    _, screen = open_screen(page, address)
    screen.root.locator("button", has_text="Whole screen").tap()
    page.wait_for_timeout(300)
    screen.root.locator("button[data-name=steps]").tap()
    screen.rest()
    screen.root.locator('button[data-do="once more"]').first.tap()
    screen.rest()
    for _ in range(5):
        step = _next(screen)
        if step is None:
            break
        screen.tap_reading(step[0], f"{step[1]:.4g}")
    if shots:
        page.screenshot(path=shots / "touch.png")
    return screen.times()


if __name__ == "__main__":
    main()
