"""What a record was made from, as SHA-256 sums: where they are still the same, the record is up to date."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import vibcal_nb
from vibcal_nb.inputs.asset.read_kinds import KINDS
from vibcal_nb.inputs.layout.visit_layout import named_layout
from vibcal_nb.inputs.load_visits import TABLES
from vibcal_nb.records.seal.seal import METADATA_KEY


def list_input_files(visit: Path) -> dict[str, Path]:
    """List the files that the records of a visit are made from, by name.

    Its own files, its waveforms (as ``waveforms/...``), and what stands above: ``asset.toml``, ``kinds.toml``,
    ``equipment.toml``, and the layout file that the visit names (as ``layout``).
    """
    folder = Path(os.path.abspath(visit))  # noqa: PTH100  # a link is not followed away from its asset
    named = {
        "asset.toml": folder.parent / "asset.toml",
        KINDS: folder.parent.parent / KINDS,
        "equipment.toml": folder.parent.parent / "equipment.toml",
        **{name: folder / name for name in ("visit.toml", *TABLES)},
        **{path.relative_to(folder).as_posix(): path for path in sorted(folder.glob("waveforms/**/*"))},
    }
    layout = named_layout(folder)
    if layout is not None:
        named["layout"] = layout
    return {name: path for name, path in named.items() if path.is_file()}


def hash_files(files: Mapping[str, Path]) -> dict[str, str]:
    """Return the SHA-256 sum of each file, in hexadecimal. Raises ``OSError`` where one cannot be read."""
    return {name: _sum(path) for name, path in files.items()}


def _sum(path: Path) -> str:
    """A waveform may be as large as the memory: it is taken block by block."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def hash_package() -> str:
    """Return one SHA-256 sum over all source files of this package: a changed analysis makes new records."""
    folder = Path(vibcal_nb.__file__).parent
    sources = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*.py"))}
    return hashlib.sha256(json.dumps(hash_files(sources)).encode()).hexdigest()


def package_version() -> str:
    """Return the version of this package, or ``unknown`` where it runs without being installed."""
    try:
        return version("vibcal_nb")
    except PackageNotFoundError:
        return "unknown"


def make_stamp(*, inputs_sha256: Mapping[str, str], template: Path, package_sha256: str) -> dict[str, Any]:
    """Compose what a record's metadata says about its origin. Raises ``OSError``."""
    return {
        "inputs_sha256": dict(inputs_sha256),
        "template_sha256": hashlib.sha256(template.read_bytes()).hexdigest(),
        "package_sha256": package_sha256,
        "version": package_version(),
    }


def is_stamped(notebook: Mapping[str, Any], stamp: Mapping[str, Any]) -> bool:
    """Whether a notebook was made from exactly what ``stamp`` says."""
    metadata = notebook.get("metadata")
    found = metadata.get(METADATA_KEY) if isinstance(metadata, Mapping) else None
    return isinstance(found, Mapping) and all(found.get(key) == value for key, value in stamp.items())
