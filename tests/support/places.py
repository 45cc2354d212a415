"""Where the project's folders lie."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "data_demo"
NOTEBOOKS = ROOT / "notebooks"
GOLDEN = ROOT / "tests" / "golden"
