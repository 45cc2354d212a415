"""Which tests execute which line of the mathematics, and how long each takes."""

from __future__ import annotations

import ast
import json
import os
import re
import subprocess
import sys
from collections import defaultdict
from functools import cache
from pathlib import Path

import coverage

from tests.mutation.mutants import Mutant

ABOUT_WHOLE_PROGRAMS = re.compile(
    "browser|command_line|fleet|fuzzed|golden|hostile|import_layers|notebook|plain_errors|register|seal|sheet"
    "|verify|warm_kernel"
)
"""Names of test modules left out: they start programs, or look at records and pages, not at numbers."""

ABOUT_ALL_CLASSES = "tests/analysis/test_result_classes.py"


def test_modules() -> list[str]:
    paths = sorted(Path("tests").rglob("test_*.py"))
    return [path.as_posix() for path in paths if not ABOUT_WHOLE_PROGRAMS.search(path.stem)]


def measure(folder: Path, only: list[str]) -> None:
    """Run the tests once on the unchanged program, report line coverage; it and seconds go into `folder`.

    With test modules given, those alone are run, and join what an earlier run has left there.
    """
    settings = ["-q", "-o", "addopts=", "-p", "tests.mutation.few_examples", "-p", "tests.mutation.seconds"]
    watched = [
        "--cov=vibcal_nb.metrology",
        "--cov=vibcal_nb.analysis",
        "--cov-context=test",
        "--cov-report=term:skip-covered",
        *(["--cov-append"] if only else []),
    ]
    subprocess.run(
        [sys.executable, "-m", "pytest", *settings, *watched, *(only or test_modules())],
        env=os.environ | {"COVERAGE_FILE": str(folder / "coverage"), "SECONDS_FILE": str(folder / "seconds.json")},
        check=True,
    )


class CoveringTests:
    """The tests that execute a line, from what `measure` left in a folder."""

    def __init__(self, folder: Path) -> None:
        self.data = coverage.CoverageData(str(folder / "coverage"))
        self.data.read()
        self.seconds = json.loads((folder / "seconds.json").read_text(encoding="utf-8"))

    def of(self, mutant: Mutant, budget_s: float) -> list[str]:
        """Return tests that execute the mutant's statement, of about `budget_s` seconds together.

        The fast ones go first, the nth case of a parametrized test as if it took n times as long. What runs when the
        module is imported is everybody's: then the tests of the whole module are taken.
        """
        contexts = self._contexts(mutant.path)
        lines = _statement(mutant)
        at_import = any("" in contexts.get(line, ()) for line in lines)
        chosen = contexts if at_import else lines
        tests = {context.partition("|")[0] for line in chosen for context in contexts.get(line, ())} & set(self.seconds)
        first = [test for test in self.seconds if at_import and test.startswith(ABOUT_ALL_CLASSES)]
        return first + _affordable(tests, self.seconds, budget_s)

    @cache  # noqa: B019
    def _contexts(self, path: str) -> dict[int, list[str]]:
        return self.data.contexts_by_lineno(str(Path(path).resolve()))


def _affordable(tests: set[str], seconds: dict[str, float], budget_s: float) -> list[str]:
    cases = defaultdict(list)
    for test in sorted(tests, key=lambda test: (seconds[test], test)):
        cases[test.partition("[")[0]].append(test)
    ranked = sorted(
        (rank * seconds[test], test) for group in cases.values() for rank, test in enumerate(group, start=1)
    )
    taken, spent = [], 0.0
    for _, test in ranked:
        if taken and spent + seconds[test] > budget_s:
            continue
        taken.append(test)
        spent += seconds[test]
    return taken


def _statement(mutant: Mutant) -> range:
    """Return the lines of the innermost simple statement, or of the head of a compound one, around a mutant."""
    tree = ast.parse(Path(mutant.path).read_text(encoding="utf-8"))
    around = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.stmt) and _first_line(node) <= mutant.line <= node.end_lineno
    ]
    inner = max(around, key=_first_line)
    body = getattr(inner, "body", None)
    return range(_first_line(inner), max(inner.lineno, body[0].lineno - 1) + 1 if body else inner.end_lineno + 1)


def _first_line(node: ast.stmt) -> int:
    return min([node.lineno, *(decorator.lineno for decorator in getattr(node, "decorator_list", []))])
