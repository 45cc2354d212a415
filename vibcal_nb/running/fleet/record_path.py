"""Where a record lies under the output folder: asset, visit, channel, test and condition."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.records.files.places import path_name, record_stem


@dataclass(frozen=True, kw_only=True)
class RecordCase:
    """One record to be: what it is of, and where it goes.

    ``results_folder`` is the visit's folder in the output, where ``results.json`` lies.
    """

    results_folder: Path
    asset: str
    visit: str
    channel: str
    analysis: str
    condition: str

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells an entry of ``results.json`` from the others."""
        return self.channel, self.analysis, self.condition

    @property
    def identity(self) -> dict[str, str]:
        """What the record's seal says that it is of."""
        names = ("asset", "visit", "channel", "analysis", "condition")
        return {name: getattr(self, name) for name in names}

    @property
    def label(self) -> str:
        """The case in words, to begin a sentence with."""
        return f"{self.asset} {self.visit}, {self.channel} {self.analysis} {self.condition}"

    @property
    def relative_record(self) -> str:
        """Path of the record from the results folder, with forward slashes."""
        return f"{path_name(self.channel)}/{self._name}.ipynb"

    @property
    def record(self) -> Path:
        """Path of the executed notebook."""
        return self.results_folder / self.relative_record

    @property
    def failed_record(self) -> Path:
        """Path where a notebook that failed is kept for whoever finds out why."""
        return self.record.with_name(f"{self._name}.failed.ipynb")

    @property
    def _name(self) -> str:
        return record_stem(self.analysis, self.condition)


def named_path(path: Path) -> Path:
    """Return the same folder by a path that ends in its name and is relative where it can be.

    A path below the current directory becomes relative to it; one typed relative stays as typed, except
    that ``.`` and ``..`` are written so that the folder's own name shows.
    """
    if path.name in ("", ".."):
        full = Path(os.path.abspath(path))  # noqa: PTH100  # resolve() would follow links away from the asset
        return Path(os.path.relpath(full.parent)) / full.name if full.name else full
    if path.is_absolute() and path.is_relative_to(Path.cwd()) and path != Path.cwd():
        return path.relative_to(Path.cwd())
    return path
