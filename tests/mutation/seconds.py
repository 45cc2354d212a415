"""A pytest plugin: how long each test took, setting up included, as a file; what is there already stays."""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

SECONDS: Counter[str] = Counter()


def pytest_runtest_logreport(report):
    SECONDS[report.nodeid] += report.duration


def pytest_sessionfinish():
    path = Path(os.environ["SECONDS_FILE"])
    known = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    path.write_text(json.dumps(known | SECONDS, indent=1), encoding="utf-8")
