"""The software that shaped a record: Python, this package, and every package that it was made with."""

from __future__ import annotations

import platform
import re
from collections.abc import Iterator
from functools import cache
from importlib.metadata import PackageNotFoundError, distribution, version

SHAPING = ("numpy", "scipy", "pandas", "matplotlib", "ipython", "papermill", "mistune", "typst", "openpyxl")
"""The packages that compute, draw, show and write, by the names they are installed by."""

_PACKAGE = "vibcal_nb"
_REQUIREMENT = re.compile(r"^([A-Za-z0-9][A-Za-z0-9._-]*)")


@cache
def surroundings() -> dict[str, str]:
    """Return the software that seals: Python, the package, every package it needs, by name, and the kind of system."""
    found = {"Python": platform.python_version(), _PACKAGE: _version(_PACKAGE)}
    names = sorted({*SHAPING, *_needed(_PACKAGE)})
    versions = {name: _version(name) for name in names}
    found |= {name: text for name, text in versions.items() if text != _UNKNOWN or name in SHAPING}
    return {**found, "system": f"{platform.system()} {platform.machine()}"}


_UNKNOWN = "unknown"


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return _UNKNOWN


def _needed(name: str) -> set[str]:
    """The packages that one needs, and those that they need, by their normal names, without what extras ask for."""
    found: set[str] = set()
    waiting = [name]
    while waiting:
        for other in _requirements(waiting.pop()):
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found


def _requirements(name: str) -> Iterator[str]:
    try:
        asked = distribution(name).requires or []
    except PackageNotFoundError:
        return
    for text in asked:
        named = _REQUIREMENT.match(text)
        if named is not None and "extra ==" not in text:
            yield re.sub(r"[-_.]+", "-", named[1]).lower()


def main_software(environment: dict[str, str]) -> str:
    """Return in one line what of a record's software is shown: the rest stands in its seal."""
    shown = ("Python", _PACKAGE, *SHAPING, "system")
    named = [f"{name} {environment[name]}" for name in shown if name in environment]
    more = len(environment) - len(named)
    return ", ".join(named) + (f", and {more} more packages, which the seal lists" if more > 0 else "")


def requirements_lines(environment: dict[str, str]) -> list[str]:
    """Return the lines of a requirements file with the exact versions that a record was made with.

    Raises ``ValueError`` where the record states no versions.
    """
    packages = {name: text for name, text in environment.items() if name not in ("Python", "system", _PACKAGE)}
    if not packages or "Python" not in environment:
        raise ValueError("the record does not state what it was made with")
    lines = [f"# Python {environment['Python']}, {environment.get('system', 'unknown system')}"]
    lines += [f"# {_PACKAGE} {environment.get(_PACKAGE)}: install its sources of that version without dependencies"]
    return [*lines, *(f"{name}=={text}" for name, text in sorted(packages.items()) if text != _UNKNOWN)]
