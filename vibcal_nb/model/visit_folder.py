"""What an asset's and a visit's folder say, read and validated."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.model.asset import Asset
from vibcal_nb.model.equipment import Equipment, Readout, Reference
from vibcal_nb.model.readings import ReadingTable
from vibcal_nb.model.visit import Visit


@dataclass(frozen=True, kw_only=True)
class AssetFolder:
    """An asset and the equipment of its site."""

    path: Path
    asset: Asset
    equipment: Equipment


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

    @property
    def is_planned(self) -> bool:
        """Whether the visit has no readings yet: it is counted, and stops nothing."""
        return not self.table.rows
