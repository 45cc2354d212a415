"""What a record was made from: input files with their sums, and the versions of the software."""

from __future__ import annotations

import hashlib
import platform
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path

from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.inputs.asset.read_kinds import KINDS


def input_files(folder: Path, table_file: str) -> dict[str, Path]:
    """Return the input files of a visit by the names a reader knows them by."""
    kinds = folder.parent.parent / KINDS
    return {
        "equipment.toml": folder.parent.parent / "equipment.toml",
        **({KINDS: kinds} if kinds.exists() else {}),
        f"{folder.parent.name}/asset.toml": folder.parent / "asset.toml",
        f"{folder.name}/visit.toml": folder / "visit.toml",
        f"{folder.name}/{table_file}": folder / table_file,
    }


def sources_table(files: Mapping[str, Path]) -> Table:
    """Return what a record was made from: files by name with their SHA-256 sums, and the versions of the software."""
    rows = [Row(cells=(name, hashlib.sha256(path.read_bytes()).hexdigest())) for name, path in files.items()]
    rows += [Row(cells=(name, version(name))) for name in ("vibcal_nb", "numpy", "scipy", "matplotlib", "papermill")]
    rows.append(Row(cells=("Python", platform.python_version())))
    return Table(
        caption="Made from",
        headings=("file or software", "SHA-256 or version"),
        rows=tuple(rows),
        text_columns=(0, 1),
    )
