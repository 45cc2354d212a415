"""The page that a record of a notebook would have: of its stored outputs, or of its cells run here, no kernel."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.support.places import DEMO, ROOT
from vibcal_nb.records.seal.page import record_page
from vibcal_nb.records.seal.seal import METADATA_KEY, make_seal

NO_RECORD = {"asset": "A", "visit": "V", "channel": "C", "analysis": "linearity", "condition": "as-found"}


def page_of_stored(notebook: str) -> bytes:
    """Return the page of a record with the outputs that a notebook stores."""
    return _page(_content(notebook))


def _content(notebook: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((ROOT / "notebooks" / f"{notebook}.ipynb").read_bytes())
    return content


def _page(content: dict[str, Any]) -> bytes:
    content["metadata"][METADATA_KEY] = {}
    seal = make_seal(content, record=NO_RECORD, made="", parameters={}, environment={}, revision=1, replaces=None)
    content["metadata"][METADATA_KEY]["seal"] = seal
    return record_page(content)


def page_of_cells(notebook: str, *, visit: str, channel: str) -> bytes:
    """Return the page of a notebook's cells, run in this process on an as-found channel of the demo's visit.

    What is of use at the notebook alone (its ``what-if`` cell) is left out, as pages leave it out.
    """
    content = _content(notebook)
    given = {"visit_folder": str(DEMO / visit), "channel": channel, "condition": "as-found"}
    names: dict[str, Any] = {"__name__": "__main__"}
    with pytest.MonkeyPatch.context() as patch:
        for cell in content["cells"]:
            tags = cell["metadata"].get("tags") or ()
            if cell["cell_type"] != "code" or "what-if" in tags:
                continue
            cell["outputs"] = shown = []

            def display(data: Any, *, raw: bool, shown: list[Any] = shown) -> None:
                assert raw
                shown.append({"output_type": "display_data", "metadata": {}, "data": data})

            patch.setattr("IPython.display.display", display)
            exec(compile("".join(cell["source"]), notebook, "exec"), names)
            if "parameters" in tags:
                names |= given
    return _page(content)
