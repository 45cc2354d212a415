"""Folders to validated visits: every problem of every file is found before anything is refused."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path

from vibcal_nb.inputs.asset.read_asset import read_asset
from vibcal_nb.inputs.asset.read_kinds import KINDS, read_kinds
from vibcal_nb.inputs.given_visits import given_visit
from vibcal_nb.inputs.layout.visit_layout import what_holds
from vibcal_nb.inputs.load_asset import no_folder
from vibcal_nb.inputs.read_equipment import read_equipment
from vibcal_nb.inputs.read_laid_out import read_laid_out
from vibcal_nb.inputs.read_readings import read_readings
from vibcal_nb.inputs.read_visit import read_visit
from vibcal_nb.inputs.reference.back_to_back import with_levels
from vibcal_nb.inputs.relay.read_safety_trail import with_known_channels
from vibcal_nb.inputs.tags import fold_tag, is_safe_tag
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.readings import ReadingTable
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused, Problem, is_storable, one_of, shown

TABLES = ("readings.csv", "readings.xlsx", "readings.ods")


def find_visits(path: Path) -> list[Path]:
    """Find the visits of a visit, an asset or a site folder, sorted by name.

    Raises ``InputRefused`` where the folder is none of these or holds no visit.
    """
    path = Path(path)
    if not path.is_dir():
        raise _refused(path, *no_folder(path))
    if (path / "visit.toml").exists():
        return [path]
    if (path / "asset.toml").exists():
        visits = _subfolders(path, "visit.toml")
    else:
        visits = [visit for asset in _subfolders(path, "asset.toml") for visit in _subfolders(asset, "visit.toml")]
    if not visits:
        raise _refused(path, "no visit", "give a folder with visit.toml, asset.toml, or assets below it")
    return visits


def _refused(path: Path, found: str, remedy: str) -> InputRefused:
    return InputRefused([Problem(file=path.as_posix(), found=found, remedy=remedy)])


def _subfolders(path: Path, holding: str) -> list[Path]:
    return sorted(child for child in path.iterdir() if child.is_dir() and (child / holding).exists())


def load_visit(path: Path | str) -> VisitFolder:
    """Load one visit. Raises ``InputRefused`` with every problem of its four files."""
    return load_visits([path])[0]


def load_visits(paths: Iterable[Path | str]) -> tuple[VisitFolder, ...]:
    """Load several visits. Raises ``InputRefused`` with every problem of all of them."""
    problems: list[Problem] = []
    loaded = [_load(Path(path), problems) for path in paths]
    if problems:
        raise InputRefused(problems)
    visits = tuple(visit for visit in loaded if visit is not None)
    _refuse_colliding_names(visits)
    return visits


def _load(path: Path, problems: list[Problem]) -> VisitFolder | None:
    try:
        given = given_visit(path)
    except InputRefused as refused:
        problems += refused.problems
        return None
    return _load_folder(path, problems) if given is None else given


def _load_folder(path: Path, problems: list[Problem]) -> VisitFolder | None:
    here: list[Problem] = []
    folder = Path(os.path.abspath(path))  # noqa: PTH100  # a link is not followed away from its asset
    asset_folder, site = folder.parent, folder.parent.parent
    if not (folder / "visit.toml").exists():
        here.append(Problem(file="visit.toml", found="no such file", remedy="give the folder of a visit"))
    elif not is_storable(str(folder)):  # a record says where its inputs are
        odd = next(part for part in folder.parts if not is_storable(part))
        found = f"the folder name {shown(odd)}, which is no UTF-8"
        here.append(Problem(file="visit.toml", found=found, remedy="rename the folder"))
    elif not is_safe_tag(folder.name):
        here.append(
            Problem(file="visit.toml", found=f"the folder name {shown(folder.name)}", remedy="name it by its date")
        )
    else:
        _refuse_links(folder, asset_folder, site, here)
    if here:
        problems += [_placed(problem, folder) for problem in here]
        return None
    visit_folder = _read_all(path, folder, asset_folder, site, here)
    problems += [_placed(problem, folder) for problem in here]
    return visit_folder


def _read_all(path: Path, folder: Path, asset_folder: Path, site: Path, problems: list[Problem]) -> VisitFolder | None:
    history = read_asset(asset_folder / "asset.toml", problems, kinds=read_kinds(site / KINDS, problems))
    equipment = read_equipment(site / "equipment.toml", problems)
    visit = read_visit(folder / "visit.toml", problems)
    asset = None if history is None else history.on(visit.date if visit is not None else date.max)
    present = _tables_there(folder, problems)
    table = ReadingTable(readings=(), file=TABLES[0]) if not present else None  # of a planned visit
    if len(present) == 1:
        table = _read_table(present[0], problems, visit=visit, asset=asset)
    if visit is not None and table is not None and table.rows and not visit.performed_by.strip():
        remedy = "give who took the readings"
        problems.append(Problem(file="visit.toml", column="performed_by", found="nothing", remedy=remedy))
    if visit is not None and equipment is not None:
        known = (
            [r.id for r in equipment.references]
            + [r.id for r in equipment.readouts]
            + [s.id for s in equipment.shakers]
        )
        problems += [
            Problem(file="visit.toml", column="equipment", found=shown(name), remedy=one_of(name, known))
            for name in visit.equipment
            if name not in known
        ]
    if visit is not None and asset is not None:
        visit = with_known_channels(visit, asset, problems)
    if problems or asset is None or equipment is None or visit is None or table is None:
        return None
    references, readouts = equipment.used_by(visit.equipment)
    table = with_levels(table, references, problems)
    if problems:
        return None
    return VisitFolder(
        path=path,
        asset=asset,
        equipment=equipment,
        visit=visit,
        table=table,
        references=references,
        readouts=readouts,
    )


def _read_table(
    path: Path, problems: list[Problem], *, visit: Visit | None, asset: Asset | None
) -> ReadingTable | None:
    """Read the reading table as the visit lays it out; a visit's file that is refused still says how."""
    columns, layout = (visit.columns, visit.layout) if visit is not None else what_holds(path.parent / "visit.toml")
    if layout is None:
        return read_readings(path, problems, asset=asset, columns=columns)
    found = read_laid_out(path, problems, asset=asset, layout=layout)
    return None if found is None else found.table


def _tables_there(folder: Path, problems: list[Problem]) -> list[Path]:
    """The reading tables of a visit; more than one, or one under another name, is a problem, which is noted."""
    present = [folder / name for name in TABLES if (folder / name).exists()]
    near = None if present else _nearly_a_table(folder)
    if len(present) > 1:
        found = f"both {' and '.join(path.name for path in present)}"
        remedy = "keep one of the two" if len(present) == 2 else "keep one of them"
        problems.append(Problem(file=present[0].name, found=found, remedy=remedy))
    elif near is not None:
        known = f"{', '.join(TABLES[:-1])} or {TABLES[-1]}"
        problems.append(Problem(file=TABLES[0], found=f"no such file, but {shown(near)}", remedy=f"name it {known}"))
    return present


def _nearly_a_table(folder: Path) -> str | None:
    """A table under a name that differs by case, or the only table in the folder under another name."""
    kinds = tuple(Path(name).suffix for name in TABLES)
    tables = sorted(path.name for path in folder.iterdir() if path.is_file() and path.suffix.lower() in kinds)
    by_case = [name for name in tables if name.lower() in TABLES]
    return by_case[0] if by_case else tables[0] if len(tables) == 1 else None


def _refuse_links(folder: Path, asset_folder: Path, site: Path, problems: list[Problem]) -> None:
    """A file that is a link to elsewhere would let a folder read what is not its own."""
    root = site.resolve()
    files = (
        folder / "visit.toml",
        *(folder / name for name in TABLES),
        asset_folder / "asset.toml",
        site / "equipment.toml",
        site / KINDS,
    )
    for file in files:
        if file.exists() and not file.resolve().is_relative_to(root):  # by a link of its own or of its folder
            found = "a link that leads out of the site's folder"
            problems.append(Problem(file=file.name, found=found, remedy="put the file itself there"))


def _placed(problem: Problem, folder: Path) -> Problem:
    """Name the file with its folders, so that two visits' problems are told apart."""
    site = folder.parent.parent.name
    above = {"asset.toml": folder.parent.name, "equipment.toml": site, KINDS: site}
    where = above.get(problem.file, f"{folder.parent.name}/{folder.name}")
    return replace(problem, file=f"{where}/{problem.file}")


def _refuse_colliding_names(visits: tuple[VisitFolder, ...]) -> None:
    problems: dict[Problem, None] = {}  # an asset's is the same for all its visits
    names: dict[tuple[Path, str], str] = {}
    tags: dict[str, tuple[str, Path]] = {}
    for visit in visits:
        folder = Path(os.path.abspath(visit.path))  # noqa: PTH100
        home, name = folder.parent, folder.name
        twin = names.setdefault((home, fold_tag(name)), name)
        if twin != name:
            found = f"the folder name {shown(name)} beside {shown(twin)}"
            remedy = "some systems do not tell them apart by case or accent: name one of them otherwise"
            problems[Problem(file=f"{home.name}/{name}/visit.toml", found=found, remedy=remedy)] = None
        tag, other = tags.setdefault(fold_tag(visit.asset.tag), (visit.asset.tag, home))
        if other != home:
            found = f"the tag {shown(visit.asset.tag)}, which {other.name}/asset.toml has as {shown(tag)}"
            remedy = "tags name folders: give each asset its own"
            problem = Problem(file=f"{home.name}/asset.toml", column="asset.tag", found=found, remedy=remedy)
            problems[problem] = None
    if problems:
        raise InputRefused(list(problems))
