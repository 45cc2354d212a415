"""What a record that looks into the asset's earlier visits is made from, beside its own visit."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from vibcal_nb.inputs.asset.read_kinds import KINDS
from vibcal_nb.inputs.earlier_visits import earlier_visits
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.running.fleet.fingerprint import hash_files, list_input_files


def hash_earlier_visits(visit: VisitFolder) -> dict[str, str]:
    """Return the SHA-256 sums of the earlier visits' files, by visit and name."""
    return {
        f"{folder.name}/{name}": digest
        for folder in earlier_visits(visit)
        for name, digest in _sums(folder).items()
        if name not in ("asset.toml", KINDS, "equipment.toml")  # the visit's own sums hold them
    }


@cache
def _sums(folder: Path) -> dict[str, str]:
    return hash_files(list_input_files(folder))
