"""axe-core, which looks for what keeps people out of a page, run in a page of a browser."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

SERIOUS = ("serious", "critical")


def serious_violations(page: Any, within: str) -> list[str]:
    """Return each serious violation of axe-core's rules below a selector, with where it stands."""
    page.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("async (within) => (await axe.run(within)).violations", within)
    return [f"{item['id']}: {node['target']}" for item in found if item["impact"] in SERIOUS for node in item["nodes"]]
