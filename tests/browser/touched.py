"""A touchable figure in a plain page of a browser: its own JavaScript, and behind it the real panel in this process."""

from __future__ import annotations

from typing import Any

from vibcal_nb.notebook.touch.front import script, style_sheet
from vibcal_nb.notebook.touch.panel import TouchPanel

_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>what if</title><style>{style}</style></head>
<body><main><h1>What if</h1><div id="host"></div></main></body></html>"""
_START = """async ([source, state]) => {
  const heard = {};
  const tell = (name) => (heard[name] ?? []).forEach((act) => act());
  window.sent = [];
  window.model = {
    get: (name) => state[name],
    on: (name, act) => { (heard[name] ??= []).push(act); },
    off: () => {},
    send: async (message) => {
      window.sent.push(message);
      const answer = await window.toKernel(message);
      state.seen = answer.seen;
      tell('change:seen');
      state.reasons = answer.reasons;
      tell('change:reasons');
      window.answered = message.number;
    },
  };
  const address = URL.createObjectURL(new Blob([source], {type: 'text/javascript'}));
  const module = await import(address);
  module.default.render({model: window.model, el: document.getElementById('host')});
}"""


class Touched:
    """A panel shown in a page; ``errors`` are what the console reported."""

    def __init__(self, page: Any, panel: TouchPanel) -> None:
        self.page, self.panel = page, panel
        self.errors: list[str] = []
        page.on("console", lambda message: self.errors.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.expose_function("toKernel", self._answer)
        page.set_content(_PAGE.format(style=style_sheet()))
        state = {"fixed": panel.fixed(), "seen": panel.seen() | {"answers": 0}, "reasons": panel.reasons()}
        page.evaluate(_START, [script(), state])
        page.set_default_timeout(20_000)

    def _answer(self, message: dict[str, Any]) -> dict[str, Any]:
        self.panel.do(message)
        return {"seen": self.panel.seen() | {"answers": message["number"]}, "reasons": self.panel.reasons()}

    def rest(self) -> None:
        """Wait until whatever was sent is answered."""
        self.page.wait_for_function("(window.answered ?? 0) === window.sent.length")

    def mark(self, row: int) -> Any:
        """The first mark of a reading in the figure."""
        return self.page.locator(f".reading[data-row='{row}'][role=checkbox]")

    def click(self, row: int) -> None:
        """Click where a reading's first mark is, whatever lies over it."""
        self.page.mouse.click(*self.centre(self.mark(row)))

    def tick(self, row: int) -> Any:
        """The tick of a reading in the table."""
        return self.page.locator(f"tr[data-row='{row}'] input[type=checkbox]")

    def headline(self) -> str:
        """What stands above the figure."""
        return str(self.page.locator(".headline").first.inner_text())

    def grip(self, label: str) -> Any:
        """The grip of a limit, by its name."""
        return self.page.get_by_role("slider", name=label, exact=True)

    def centre(self, locator: Any) -> tuple[float, float]:
        """Where the middle of an element is on the page."""
        box = locator.bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
