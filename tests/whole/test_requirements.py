"""requirements.txt: whatever the package needs has an upper bound there, and these tests run within all of them."""

from __future__ import annotations

import tomllib
from importlib.metadata import version

from packaging.requirements import Requirement

from tests.support.places import ROOT


def stated():
    lines = (ROOT / "requirements.txt").read_text(encoding="utf-8").splitlines()
    return {item.name: item for line in lines if line and line[0] not in "#-" for item in [Requirement(line)]}


def test_each_dependency_has_an_upper_bound():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for needed in map(Requirement, project["dependencies"]):
        bounds = [part for part in stated()[needed.name].specifier if part.operator in ("<", "<=", "==")]
        assert bounds, needed.name


def test_what_is_installed_lies_within_the_bounds():
    for name, requirement in stated().items():
        assert requirement.specifier.contains(version(name)), (name, version(name))
