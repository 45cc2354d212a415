"""The screen at the shaker in a browser: a person's keys and fingers, and how long the answer takes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.browser.lab import Notebook

PROBE = """() => {
  const root = document.querySelector('.shaker'), seen = {at: 0, times: []};
  root.addEventListener('keydown', event => {
    if (event.key === 'Enter' && event.target.dataset.field === 'output') seen.at = performance.now();
  }, true);
  root.addEventListener('click', event => {
    if (event.target.closest('[data-keep]')) seen.at = performance.now();
  }, true);
  new MutationObserver(() => {
    if (!seen.at) return;
    const at = seen.at;
    requestAnimationFrame(() => { if (seen.at === at) { seen.times.push(performance.now() - at); seen.at = 0; } });
  }).observe(root.querySelector('[data-region="answer"]'), {childList: true, subtree: true, characterData: true});
  window.shakerSeen = seen;
}"""


class ShakerScreen:
    """The screen, as a person uses it; ``page`` is the browser's page."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.root = page.locator(".shaker")
        self.root.wait_for(timeout=60_000)
        page.evaluate(PROBE)

    def whole(self) -> None:
        """Fill the display with the screen."""
        self.root.locator("button", has_text="Whole screen").click()
        self.page.wait_for_timeout(300)

    def text(self, region: str) -> str:
        """Return what stands in a region."""
        return str(self.root.locator(f'[data-region="{region}"]').inner_text())

    def rest(self) -> None:
        """Wait until Python has answered."""
        self.page.wait_for_function("!document.querySelector('.shaker').hasAttribute('aria-busy')", timeout=30_000)

    def type_reading(self, level: str, output: str) -> None:
        """Enter a reading by the keyboard alone."""
        keyboard = self.page.keyboard
        keyboard.type(level)
        keyboard.press("Enter")
        keyboard.type(output)
        keyboard.press("Enter")
        self.rest()

    def tap_reading(self, level: str, output: str) -> None:
        """Enter a reading by touch alone, on the screen's own keypad."""
        for field, text in (("level", level), ("output", output)):
            self.root.locator(f'[data-field="{field}"]').tap()
            for key in text:
                self.root.locator(f'[data-pad="{key}"]').tap()
        self.root.locator("[data-keep]").tap()
        self.rest()

    def is_asking(self) -> bool:
        """Whether a question waits for its answer."""
        return bool(self.text("ask").strip())

    def times(self) -> list[float]:
        """Return the milliseconds from each Enter to the frame after the answer."""
        return [float(value) for value in self.page.evaluate("window.shakerSeen.times")]


def name_visit(notebook: Path, **parameters: object) -> None:
    """Put other values into the parameters cell of a copy of the notebook."""
    import nbformat

    content = nbformat.read(notebook, as_version=4)
    cell = next(cell for cell in content.cells if cell.id == "parameters")
    lines = cell.source.splitlines()
    for name, value in parameters.items():
        place = next(i for i, line in enumerate(lines) if line.startswith(f"{name}:"))
        lines[place] = f"{lines[place].split(' = ')[0]} = {value!r}"
    cell.source = "\n".join(lines)
    nbformat.write(content, notebook)


def open_screen(page: Any, address: str) -> tuple[Notebook, ShakerScreen]:
    """Open the notebook, run it, and return it with its screen."""
    notebook = Notebook(page, address, "at_the_shaker")
    notebook.start_all()
    return notebook, ShakerScreen(page)
