"""A visit and a channel of the demo site for each analysis: one that has readings for it."""

from __future__ import annotations

from functools import cache

from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.visit_folder import VisitFolder

USUAL = ("STG-1/2026-05-19", "STG-1-V12")
RELAYS = "BFP-2/2026-04-21"
OTHERS = {
    "gap-curve": ("AUX-4/2026-06-02", "AUX-4-X21"),
    "indication": (RELAYS, "BFP-2-A11"),
    "set-points": (RELAYS, "BFP-2-A12"),
    "voting": (RELAYS, "BFP-2-TRIP"),
    "electrical": (RELAYS, "BFP-2-A11"),
}


@cache
def visit_at(place: str) -> VisitFolder:
    """Return a visit of the demo site, read once."""
    return load_visit(DEMO / place)


def example_of(analysis: str, channel: str = USUAL[1]) -> tuple[VisitFolder, str]:
    """Return a visit and a channel that have as-found readings for an analysis; ``channel`` of the usual visit."""
    place, own = OTHERS.get(analysis, (USUAL[0], channel))
    return visit_at(place), own
