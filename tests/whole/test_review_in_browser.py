"""A visit reviewed in JupyterLab in a real browser, by keyboard alone: chosen, read, accepted, returned, signed."""

from __future__ import annotations

import json
import subprocess

import pytest

from tests.browser.lab import _ALL_RUN, ROOT, Notebook, running_browser, running_lab
from tests.support.kept.channel_report import keep_results
from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.review.queue import Standing, list_queue
from vibcal_nb.records.review.returned import holding_return
from vibcal_nb.records.signoff.places import list_signoffs, signature_path

pytestmark = pytest.mark.browser
ARTEFACTS = ROOT / ".ci" / "artefacts"


def prepare(folder):
    """Records of two channels beside the notebooks, a key, and the notebook's parameters set to them."""
    out = folder / "root" / "records" / "STG-1" / "2026-05-19"
    visit = load_visit(DEMO / "STG-1" / "2026-05-19")
    for channel in ("STG-1-V12", "STG-1-V31"):
        keep_results(visit, out, channel=channel, without=(DRIFT, CHANNEL_VERDICT))
    rebuild_register(folder / "root" / "records")
    key = folder / "key"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "d", "-f", str(key)], check=True)
    path = folder / "root" / "notebooks" / "review.ipynb"
    notebook = json.loads(path.read_text(encoding="utf-8"))
    cell = next(cell for cell in notebook["cells"] if cell["id"] == "parameters")
    values = {"folder": "../records", "reviewer": "Engineer D", "key": str(key), "site_folder": "../data_demo"}
    cell["source"] = "\n".join(f"{name}: str = {json.dumps(value)}  # set" for name, value in values.items())
    path.write_text(json.dumps(notebook), encoding="utf-8")
    return folder / "root" / "records"


def keep(page, name):
    ARTEFACTS.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=ARTEFACTS / f"review-{name}.png")


def test_a_visit_is_reviewed_by_keyboard(tmp_path):
    with running_lab(tmp_path) as address, running_browser() as new_page:
        records = prepare(tmp_path)
        before = list_queue([records], {})
        failing = [item for item in before if item.standing is Standing.DECISION]
        passing = [item for item in before if item.passes]
        notebook = Notebook(new_page(), address, "review")
        page = notebook.page
        notebook.start_all()
        page.wait_for_function(_ALL_RUN, timeout=240_000)
        page.keyboard.press("Escape")
        page.wait_for_function(TO_END)
        queue = page.locator(".widget-select select")
        queue.wait_for()
        queue.focus()
        page.keyboard.press("Home")
        keep(page, "queue")
        page.keyboard.press("Tab")
        page.keyboard.type("sensor changed without a record of it")
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        page.keyboard.press("Space")  # Return
        page.get_by_text("returned, with a signature").wait_for()
        keep(page, "returned")
        assert holding_return(failing[0].path, failing[0].seal).reason == "sensor changed without a record of it"
        queue.focus()
        page.keyboard.press("Home")
        for _ in range(len(failing) - 1):
            page.keyboard.press("ArrowDown")
        chosen = queue.input_value()
        page.keyboard.press("Tab")
        page.keyboard.type("levels and figure seen")
        page.keyboard.press("Tab")
        page.keyboard.press("Space")  # Accept
        page.get_by_text("signed off, with a signature").first.wait_for()
        for _ in range(2):
            page.keyboard.press("Tab")
        page.keyboard.press("Space")  # Accept all that pass
        page.get_by_text(f"{passing[-1].name}: signed off, with a signature").wait_for()
        keep(page, "signed")
        after = list_queue([records], {})
        assert {item.standing for item in after if item.passes} == {Standing.SIGNED}
        remarks = {signoff.remark for item in after for signoff in item.signoffs}
        assert remarks == {"levels and figure seen", ""}
        assert chosen
        for item in after:
            assert all(signature_path(path).is_file() for path in list_signoffs(item.path))
        assert notebook.errors == []


TO_END = """() => {
  const outer = document.querySelector('.jp-WindowedPanel-outer') || document.querySelector('.jp-Notebook');
  outer.scrollTop = outer.scrollHeight;
  return Boolean(document.querySelector('.widget-select select')?.getBoundingClientRect().width);
}"""
