"""What tests of panels are made of."""

from __future__ import annotations

from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit

VISIT = load_visit(DEMO / "STG-1" / "2026-05-19")
