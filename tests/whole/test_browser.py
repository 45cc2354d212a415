"""The notebooks in JupyterLab in a real browser: they run, their controls work by keyboard and mouse, and say so."""

from __future__ import annotations

import pytest

from tests.browser.lab import ROOT, Notebook, running_browser, running_lab
from tests.browser.latency import GRIPS, drag, move
from vibcal_nb.display.site.site_matrix import NUMBERS

pytestmark = pytest.mark.browser
ARTEFACTS = ROOT / ".ci" / "artefacts"
NOTEBOOKS = sorted(path.stem for path in (ROOT / "notebooks").glob("*.ipynb"))


@pytest.fixture(scope="module")
def open_page(tmp_path_factory):
    """Opens a notebook of its own, not yet run."""
    with running_lab(tmp_path_factory.mktemp("lab")) as address, running_browser() as new_page:
        yield lambda name: Notebook(new_page(), address, name)


@pytest.fixture(scope="module")
def run_notebook(open_page):
    """Opens and runs a notebook once for all tests of it."""
    opened: dict[str, Notebook] = {}

    def run(name: str) -> Notebook:
        if name not in opened:
            opened[name] = open_page(name)
            keep(opened[name].page, f"{name}-opened")
            opened[name].run_all()
        return opened[name]

    return run


def keep(page, name: str) -> None:
    ARTEFACTS.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=ARTEFACTS / f"{name}.png")


def headline(panel, *words: str):
    """What stands above the figure, once it has all these words."""
    found = panel.locator(".headline")
    for word in words:
        found = found.filter(has_text=word)
    return found


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_every_notebook_runs_without_an_error(run_notebook, name):
    notebook = run_notebook(name)
    counts = notebook.counts()
    assert counts["run"] == counts["code"] > 0
    assert counts["failed"] == 0
    keep(notebook.page, f"{name}-run")
    assert notebook.errors == []


@pytest.mark.parametrize(
    ("name", "comes_to"),
    # the sensor's deviation is less than its U: a tolerance below U decides nothing before the deviation exceeds it
    [("linearity", "fail"), ("band_response", "fail"), ("sensor_alone", "not verified"), ("gap_curve", "fail")],
)
def test_a_limit_moves_by_keyboard_and_goes_back_to_the_record(run_notebook, name, comes_to):
    notebook = run_notebook(name)
    panel = notebook.to_panel()
    record = headline(panel, "as in the record").inner_text(timeout=60_000).removeprefix("as in the record: ")
    grip = panel.get_by_role("slider", name=GRIPS[name], exact=True)
    grip.focus()
    notebook.page.keyboard.press("Home")
    headline(panel, f"what if, not the record: {comes_to}", f"record: {record}").wait_for()
    keep(notebook.page, f"{name}-{comes_to.replace(' ', '-')}")
    panel.get_by_role("button", name="Back to the record").click()
    headline(panel, f"as in the record: {record}").wait_for()
    assert notebook.errors == []


@pytest.mark.parametrize("name", GRIPS)
def test_the_screen_follows_every_move_and_ends_with_the_last(run_notebook, record_property, name):
    notebook = run_notebook(name)
    panel = notebook.to_panel()
    moves, dragged = move(notebook, "key", 6, warm_up=2), drag(notebook, 60)
    record_property(f"{name}, key", str(moves))
    record_property(f"{name}, drag", str(dragged))
    assert None not in moves.times
    assert dragged.same
    panel.get_by_role("button", name="Back to the record").click()
    headline(panel, "as in the record").wait_for()
    assert notebook.errors == []


def test_texts_of_the_matrix_begin_at_the_left_and_its_numbers_end_at_the_right(run_notebook):
    notebook = run_notebook("site_overview")
    matrix = notebook.page.locator("table.site", has=notebook.page.locator("th", has_text="margin, %")).first
    matrix.wait_for(timeout=20_000)
    aligned = """table => Array.from(table.tBodies[0].rows[0].cells).map(
        (cell, i) => [table.tHead.rows[0].cells[i].textContent, getComputedStyle(cell).textAlign])"""
    found = matrix.evaluate(aligned)
    assert len(found) > len(NUMBERS) + 5
    assert found == [[name, "right" if name in NUMBERS else "left"] for name, _ in found]
    assert set(NUMBERS) < {name for name, _ in found}


def test_a_control_changes_nothing_but_the_panel(run_notebook):
    notebook = run_notebook("sensor_alone")
    result = "application/vnd.vibcal-nb.result+json"
    model = "window.jupyterapp.shell.currentWidget.content.model.toJSON().cells"
    read = f"() => JSON.stringify({model}.flatMap(c => c.outputs || []).filter(o => o.data?.['{result}']))"
    before = notebook.page.evaluate(read)
    assert '"verdict"' in before
    panel = notebook.to_panel()
    panel.get_by_role("slider", name=GRIPS["sensor_alone"], exact=True).focus()
    notebook.page.keyboard.press("Home")
    headline(panel, "what if, not the record").wait_for()
    assert notebook.page.evaluate(read) == before
    panel.get_by_role("button", name="Back to the record").click()
    headline(panel, "as in the record").wait_for()


def test_a_wrong_channel_is_a_sentence_and_not_a_traceback(open_page):
    notebook = open_page("linearity")
    cells = "window.jupyterapp.shell.currentWidget.content.model.cells"
    notebook.page.evaluate(
        f"""() => {{ for (let i = 0; i < {cells}.length; i++) {{
            const source = {cells}.get(i).sharedModel;
            if (source.getSource().includes('channel: str')) source.setSource(
                source.getSource().replace('STG-1-V11', 'STG-1-V99'));
        }} }}"""
    )
    notebook.start_all()
    box = notebook.page.locator("[role=alert]")
    box.wait_for(timeout=60_000)
    box.scroll_into_view_if_needed()
    assert "has no channel 'STG-1-V99'" in box.inner_text()
    assert not box.locator("pre").is_visible()
    keep(notebook.page, "refusal")
    box.locator("summary").click()
    assert "Traceback" in box.locator("pre").inner_text()


def test_dark_theme(run_notebook):
    notebook = run_notebook("band_response")
    theme = "() => {{ window.jupyterapp.commands.execute('apputils:change-theme', {{theme: 'JupyterLab {}'}}); }}"
    notebook.page.evaluate(theme.format("Dark"))
    notebook.page.wait_for_selector("body[data-jp-theme-light=false]", state="attached")
    panel = notebook.to_panel()
    ground = "(panel) => getComputedStyle(panel).backgroundColor"
    assert panel.evaluate(ground) == "rgb(17, 17, 17)"
    keep(notebook.page, "band_response-dark")
    notebook.page.evaluate(theme.format("Light"))
    assert notebook.errors == []
