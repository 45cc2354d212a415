"""The screen at the shaker in a real browser at 1024 x 768: by the keyboard alone, then by touch alone."""

from __future__ import annotations

import pytest

from tests.browser.lab import ROOT, find_browser, running_lab
from tests.browser.shaker import name_visit, open_screen
from vibcal_nb.inputs.load_visits import load_visit

pytestmark = pytest.mark.browser
ARTEFACTS = ROOT / ".ci" / "artefacts"
HEAD = 'date = 2026-05-26\nperformed_by = "Technician A"\nequipment = ["REF-26", "DVM-26"]\n'


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    """The screen of a visit without readings, in a browser with a touch screen."""
    from playwright.sync_api import sync_playwright

    folder = tmp_path_factory.mktemp("lab")
    with running_lab(folder) as address, sync_playwright() as playwright:
        visit = folder / "root" / "data_demo" / "STG-1" / "2026-05-26"
        visit.mkdir()
        (visit / "visit.toml").write_text(HEAD, encoding="utf-8")
        notebook = folder / "root" / "notebooks" / "at_the_shaker.ipynb"
        name_visit(notebook, visit_folder="../data_demo/STG-1/2026-05-26", channels="STG-1-V11")
        browser = playwright.chromium.launch(executable_path=find_browser(), args=["--no-sandbox"])
        try:
            context = browser.new_context(viewport={"width": 1024, "height": 768}, has_touch=True)
            page, screen = open_screen(context.new_page(), address)
            yield page, screen, visit
        finally:
            browser.close()


def test_readings_are_entered_by_the_keyboard_and_a_slip_is_asked_about_first(opened):
    notebook, screen, visit = opened
    page = screen.page
    screen.root.locator('[data-field="level"]').focus()
    for level, output in (("1.98", "7.95"), ("4.95", "19.8"), ("9.9", "39.6")):
        screen.type_reading(level, output)
        assert "within" in screen.text("answer")
    screen.type_reading("11", "62.2")
    assert "rms and peak mixed up" in screen.text("ask")
    page.wait_for_timeout(600)
    page.screenshot(path=ARTEFACTS / "at_the_shaker-asked.png")
    page.keyboard.press("m")
    screen.rest()
    assert not screen.is_asking()
    page.keyboard.press("F8")
    screen.rest()
    page.wait_for_function("document.querySelector('.shaker .state') !== null")
    assert "not yet" in screen.text("page")
    page.keyboard.press("Escape")
    screen.rest()
    readings = load_visit(visit).table.readings
    assert [reading.exclude is None for reading in readings] == [True, True, True, False, True]
    assert len(screen.times()) == 4
    assert notebook.errors == []


def test_readings_are_entered_by_touch_on_the_screens_own_keypad(opened):
    notebook, screen, visit = opened
    before = len(load_visit(visit).table.readings)
    screen.tap_reading("14.9", "59.6")
    assert "within" in screen.text("answer")
    (last,) = load_visit(visit).table.readings[before:]
    assert (last.applied, last.output) == (14.9, 59.6)
    screen.root.locator("button", has_text="Take back").tap()
    screen.rest()
    assert load_visit(visit).table.readings[-1].exclude is not None
    screen.page.screenshot(path=ARTEFACTS / "at_the_shaker-touch.png")
    assert notebook.errors == []
