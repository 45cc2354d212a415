"""Assets without their visits: what a plan is made from, before there is anything to analyse."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

from vibcal_nb.inputs.asset.read_asset import read_asset
from vibcal_nb.inputs.asset.read_kinds import KINDS, read_kinds
from vibcal_nb.inputs.read_equipment import read_equipment
from vibcal_nb.inputs.read_visit import read_visit
from vibcal_nb.model.dated_asset import DatedAsset
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import AssetFolder
from vibcal_nb.problems import InputRefused, Problem


def find_asset_folders(path: Path) -> list[Path]:
    """Find the asset folders of a visit, an asset or a site folder, sorted by name.

    Raises ``InputRefused`` where the folder is none of these.
    """
    # A relative path such as '.' has no parent by name.
    path = Path(os.path.abspath(path))  # noqa: PTH100  # a link is not followed away from its asset
    if path.exists() and not path.is_dir():
        there, instead = no_folder(path)
        raise InputRefused([Problem(file=path.as_posix(), found=there, remedy=instead)])
    candidates = [path.parent] if (path / "visit.toml").exists() else [path]
    if path.is_dir() and not (candidates[0] / "asset.toml").exists():
        candidates = sorted(child for child in path.iterdir() if (child / "asset.toml").exists())
    found = [folder for folder in candidates if (folder / "asset.toml").exists()]
    if not found:
        remedy = "give the folder of a visit, an asset or a site"
        raise InputRefused([Problem(file=path.as_posix(), found="no asset.toml", remedy=remedy)])
    return found


def no_folder(path: Path) -> tuple[str, str]:
    """Say what stands where the folder of a visit, an asset or a site was wanted, and what to do."""
    if not path.exists():
        return "no such folder", "give the folder of a visit, an asset or a site"
    return "a file where a folder belongs", f"give the folder that it lies in: {path.parent.as_posix()}"


def load_visit_file(visit: Path) -> Visit:
    """Load a visit's ``visit.toml`` without its readings. Raises ``InputRefused`` with every problem."""
    problems: list[Problem] = []
    read = read_visit(visit / "visit.toml", problems)
    if read is None or problems:
        raise InputRefused(problems)
    return read


def load_dated_asset(path: Path) -> DatedAsset:
    """Load an asset's file with all that it states of any day. Raises ``InputRefused`` with every problem."""
    problems: list[Problem] = []
    asset = read_asset(path / "asset.toml", problems, kinds=read_kinds(path.parent / KINDS, problems))
    if problems or asset is None:
        raise InputRefused(problems)
    return asset


def load_asset_folder(path: Path, *, day: date = date.max) -> AssetFolder:
    """Load an asset as it is on a day (by default with all that is stated of later days) and the equipment beside it.

    Raises ``InputRefused`` with every problem of the files.
    """
    problems: list[Problem] = []
    asset = read_asset(path / "asset.toml", problems, kinds=read_kinds(path.parent / KINDS, problems))
    equipment = read_equipment(path.parent / "equipment.toml", problems)
    if problems or asset is None or equipment is None:
        raise InputRefused(problems)
    return AssetFolder(path=path, asset=asset.on(day), equipment=equipment)
