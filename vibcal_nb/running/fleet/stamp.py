"""What a record was made with: the notebook, by what it executes, and the software, by its sources."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import vibcal_nb
from vibcal_nb.records.seal.seal import METADATA_KEY
from vibcal_nb.records.seal.sources import sum_of_sources
from vibcal_nb.running.fleet.own_notebooks import own_sum

INPUTS, LIKE, NOTEBOOK, PACKAGE = "inputs_sha256", "like_sha256", "notebook", "package_sha256"


@cache
def hash_package() -> str:
    """Return one SHA-256 sum over all source files of this package: a changed analysis makes new records."""
    return sum_of_package()


def is_package_changed() -> bool:
    """Whether the package's files are others by now than `hash_package` found: what is performed may be of either."""
    return sum_of_package() != hash_package()


def sum_of_package() -> str:
    """Return the sum over the package's files as they are now."""
    folder = Path(vibcal_nb.__file__).parent
    digests = {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*.py"))
    }
    return hashlib.sha256(json.dumps(digests).encode()).hexdigest()


def package_version() -> str:
    """Return the version of this package, or ``unknown`` where it runs without being installed."""
    try:
        return version("vibcal_nb")
    except PackageNotFoundError:
        return "unknown"


@cache
def notebook_stamp(template: Path) -> dict[str, Any]:
    """Return a notebook's name, the sum over what of it is executed, and whether it is the package's own.

    Raises ``OSError``, ``ValueError`` where it is no notebook.
    """
    try:
        digest = sum_of_sources(json.loads(template.read_text(encoding="utf-8")))
    except (KeyError, TypeError, AttributeError, RecursionError) as error:
        raise ValueError(f"{template.as_posix()} is no notebook") from error
    own = own_sum(package_version(), template.name)
    return {"file": template.name, "sha256": digest, "own": digest == own}


def make_stamp(*, template: Path, package_sha256: str) -> dict[str, Any]:
    """Compose what a record's metadata says of how it was made. Raises ``OSError``, ``ValueError``."""
    return {NOTEBOOK: notebook_stamp(template), PACKAGE: package_sha256, "version": package_version()}


def stamp_of(notebook: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return what a notebook's metadata says of how it was made; empty where it says nothing."""
    metadata = notebook.get("metadata")
    found = metadata.get(METADATA_KEY) if isinstance(metadata, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def is_stamped(notebook: Mapping[str, Any], stamp: Mapping[str, Any]) -> bool:
    """Whether a notebook was made with exactly what ``stamp`` says."""
    found = stamp_of(notebook)
    return all(found.get(key) == value for key, value in stamp.items())
