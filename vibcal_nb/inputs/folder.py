"""A visit's folder: the four input files read together, and where visits lie."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.inputs.asset import Asset
from vibcal_nb.inputs.equipment import Equipment, Readout, Reference
from vibcal_nb.inputs.readings import ReadingTable
from vibcal_nb.inputs.visit import Visit


@dataclass(frozen=True, kw_only=True)
class VisitFolder:
    """Everything a visit's folder says; ``references`` and ``readouts`` are those the visit used."""

    path: Path
    asset: Asset
    equipment: Equipment
    visit: Visit
    table: ReadingTable
    references: tuple[Reference, ...]
    readouts: tuple[Readout, ...]
