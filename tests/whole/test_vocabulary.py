"""One word, one thing: names of tests, conditions, analyses and verdicts stand once, and not as loose literals."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import vibcal_nb
from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.model import names

PACKAGE = Path(vibcal_nb.__file__).parent
HOMES = {"model/names.py", "metrology/conformity/decision.py", "__init__.py"}  # the last one names functions
WORDS = {*names.TESTS, *names.CONDITIONS, names.DRIFT, names.CHANNEL_VERDICT, *VERDICTS}
MODULES = [path for path in sorted(PACKAGE.rglob("*.py")) if path.relative_to(PACKAGE).as_posix() not in HOMES]


def loose(tree: ast.AST) -> Iterator[ast.Constant]:
    """Yield texts that are one of the words, but for types, members of JSON objects, and what a person reads."""
    meant = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal":
            meant |= {id(inner) for inner in ast.walk(node)}
        elif isinstance(node, ast.JoinedStr):
            meant |= {id(part) for part in node.values}
        elif isinstance(node, ast.Dict):
            for key, value in zip(node.keys, node.values, strict=True):
                if isinstance(key, ast.Name):
                    meant.add(id(value))  # NAME: "how a person reads it"
                if isinstance(value, ast.List | ast.ListComp):
                    meant.add(id(key))  # "member": [...] of a JSON object
    yield from (
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and str(node.value) in WORDS and id(node) not in meant
    )


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_no_name_of_the_vocabulary_stands_as_a_loose_literal(path):
    found = [f"line {node.lineno}: {node.value!r}" for node in loose(ast.parse(path.read_text(encoding="utf-8")))]
    assert found == [], "take the name from model/names.py, of a verdict from metrology/conformity/decision.py"
