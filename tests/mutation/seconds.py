"""A pytest plugin: how long each test that passed took, setting up included, as a file."""

from __future__ import annotations

import json
import os
from collections import Counter
from pathlib import Path

SECONDS: Counter[str] = Counter()


def pytest_runtest_logreport(report):
    SECONDS[report.nodeid] += report.duration


def pytest_sessionfinish():
    Path(os.environ["SECONDS_FILE"]).write_text(json.dumps(SECONDS, indent=1), encoding="utf-8")
