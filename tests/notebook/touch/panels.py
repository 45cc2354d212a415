"""Panels to touch, and what a hand might do on them."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from random import Random

from tests.support.running.panels import VISIT
from vibcal_nb.analysis.linearity.linearity import LinearityResult, analyse_linearity
from vibcal_nb.model.case import select_case
from vibcal_nb.notebook.touch.explored import ResultSubject
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.notebook.touch.subject import Choice


@cache
def _linearity() -> LinearityResult:
    return analyse_linearity(select_case(VISIT, channel="STG-1-V11", test="linearity", condition="as-found"))


def linearity_panel(visit: Path | None) -> TouchPanel:
    """A panel of a linearity, whose findings are kept in a folder."""
    return TouchPanel(ResultSubject(_linearity()), visit=visit)


def random_action(panel: TouchPanel, random: Random) -> dict:
    kind = random.choice(["set", "set", "leave out", "take back", "undo", "redo", "record"])
    item = random.choice(panel.subject.controls)
    if isinstance(item, Choice):
        value = random.choice([meant for _, meant in item.options])
    elif item.kind == "range":
        value = sorted(round(random.uniform(-8.0, 0.0), 1) for _ in range(2))
    else:
        value = round(random.uniform(0.1, item.most), 1)
    row = random.choice(panel.record.result.case.readings).row
    return {"do": kind, "name": item.name, "value": value, "row": row, "reason": random.choice(["", "cable moved"])}
