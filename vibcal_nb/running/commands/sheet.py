"""`sheet`: a reading table to fill in at the next visit, planned to what the shaker reaches.

The folder of a visit that does not exist yet, below its asset and named by its day, is made with its visit.toml.
"""

from __future__ import annotations

import argparse
import math
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.model.names import AS_FOUND, CONDITIONS
from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.analysis.planning.plan import ChannelPlan
    from vibcal_nb.model.asset import Channel
    from vibcal_nb.model.visit_folder import AssetFolder

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "folder", metavar="FOLDER", type=Path, help="a visit, also a new one (SITE/ASSET/DAY), an asset or a site"
    )
    parser.add_argument("--out", type=Path, help="where the sheets go (default: a visit's own folder, else ./sheets)")
    parser.add_argument("--channel", action="append", default=[], metavar="TAG", help="only this channel (repeatable)")
    parser.add_argument(
        "--test",
        action="append",
        default=[],
        metavar="NAME",
        help="only this test (repeatable), relays too",
    )
    parser.add_argument("--condition", choices=CONDITIONS, default=AS_FOUND)
    parser.add_argument("--shaker", metavar="ID", help="plan for this shaker (default: the one that reaches most)")
    parser.add_argument("--moving-mass", type=float, metavar="KG", help="in place of moving_mass_kg in asset.toml")
    parser.add_argument("--format", choices=("xlsx", "csv"), default="xlsx")


@dataclass(frozen=True, kw_only=True)
class _Wanted:
    """What the folder means: the assets as they will be, the visit that is planned (None: none is named), its day."""

    assets: list[AssetFolder]
    visit: Path | None = None
    day: date | None = None
    is_new: bool = False


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Write one sheet an asset; a reading table that is there already is never overwritten."""
    from vibcal_nb.analysis.planning.shaker import ShakerError
    from vibcal_nb.problems import NothingToPlan

    wanted = _find(arguments.folder)
    known = [tag for item in wanted.assets for tag in item.asset.channels]
    for tag in arguments.channel:
        if tag not in known:
            return _refuse(f"There is no channel '{tag}'; known are {', '.join(known)}.")
    status = ExitStatus.DONE
    for item in wanted.assets:
        if not arguments.channel or set(arguments.channel) & set(item.asset.channels):
            try:
                status = max(status, _write(item, wanted, arguments))
            except (NothingToPlan, ShakerError) as reason:
                status = _refuse(f"{item.asset.tag}: {reason}")
    return status


def _find(folder: Path) -> _Wanted:
    """What the folder means. Raises ``InputRefused`` with a sentence where that is nothing to plan for."""
    from vibcal_nb.inputs.load_asset import find_asset_folders, load_asset_folder, load_visit_file

    if (folder / "visit.toml").exists():
        day = load_visit_file(folder).date
        (home,) = find_asset_folders(folder)
        return _Wanted(assets=[load_asset_folder(home, day=day)], visit=folder, day=day)
    if (folder.absolute().parent / "asset.toml").exists() and not (folder / "asset.toml").exists():
        day = _new_day(folder)
        return _Wanted(
            assets=[load_asset_folder(folder.absolute().parent, day=day)], visit=folder, day=day, is_new=True
        )
    return _Wanted(assets=[load_asset_folder(path) for path in find_asset_folders(folder)])


def _new_day(folder: Path) -> date:
    from vibcal_nb.problems import InputRefused, Problem, shown

    name = folder.absolute().name
    found = _DAY.match(name)
    try:
        return date.fromisoformat(found.group() if found else "")
    except ValueError:
        what = f"no visit, and the name {shown(name)}"
        remedy = "name a new visit by its day, such as 2027-05-18, and its folder is made"
        raise InputRefused([Problem(file=folder.as_posix(), found=what, remedy=remedy)]) from None


def _refuse(sentence: str) -> ExitStatus:
    print(sentence, file=sys.stderr)
    return ExitStatus.REFUSED


def _write(item: AssetFolder, wanted: _Wanted, arguments: argparse.Namespace) -> ExitStatus:
    from vibcal_nb.analysis.planning.asset_plan import plan_asset
    from vibcal_nb.analysis.relay.planned_checks import plan_checks
    from vibcal_nb.inputs.load_visits import TABLES
    from vibcal_nb.model.names import CHECKS, GAP_CURVE, SHAKER_TESTS, TESTS
    from vibcal_nb.records.reading_table.new_visit import write_visit
    from vibcal_nb.records.reading_table.reading_sheet import write_sheet_csv, write_sheet_xlsx
    from vibcal_nb.records.reading_table.reading_sheet_rows import gap_sentences

    unknown = [test for test in arguments.test if test not in TESTS]
    if unknown:
        return _refuse(f"No test '{unknown[0]}' can be planned; give one of {', '.join(TESTS)}.")
    checked = [test for test in arguments.test if test in CHECKS]
    shaken = [test for test in arguments.test if test not in CHECKS]
    if item.asset.retired is not None and (wanted.day is None or item.asset.retired <= wanted.day):
        return _refuse(f"{item.asset.tag} is retired since {item.asset.retired.isoformat()}; there is nothing to plan.")
    shakers = item.equipment.shakers
    chosen = [shaker for shaker in shakers if arguments.shaker in (None, shaker.id)]
    if not shakers:
        return _refuse(
            "equipment.toml has no shaker to plan for; add a [[shaker]] table that says what it reaches "
            "(id, force_n, armature_kg, from_hz, to_hz and what else limits it)."
        )
    if not chosen:
        ids = ", ".join(shaker.id for shaker in shakers)
        return _refuse(f"There is no shaker '{arguments.shaker}' in equipment.toml; it has {ids}.")
    path = _target(item, wanted, arguments)
    there = [path.parent / name for name in TABLES if (path.parent / name).exists()]
    if there:
        return _refuse(f"{there[0].as_posix()} is there already and is not overwritten; give another folder by --out.")
    tags = [tag for tag in item.asset.channels if not arguments.channel or tag in arguments.channel]
    plans = plan_asset(
        [item.asset.channel(tag, arguments.condition) for tag in tags],
        shakers=chosen,
        others=shakers,
        moving_mass_kg=arguments.moving_mass,
        tests=shaken or (*SHAKER_TESTS, GAP_CURVE),
        without_mass=True,
    )
    if arguments.test and not shaken:
        plans = tuple(replace(plan, points=(), out_of_reach=()) for plan in plans)
    remarks = tuple(_remarks(item, wanted))
    if wanted.is_new and wanted.visit is not None and wanted.day is not None:
        write_visit(wanted.visit, wanted.day, equipment=_valid(item, wanted.day))
    checks = plan_checks(item.asset, tags, tests=checked, condition=arguments.condition, reach=_reach_of(plans))
    if arguments.format == "csv":
        write_sheet_csv(path, plans, condition=arguments.condition, remarks=remarks, checks=checks)
    else:
        write_sheet_xlsx(path, plans, condition=arguments.condition, remarks=remarks, checks=checks)
    points, channels = sum(len(plan.points) for plan in plans), sum(bool(plan.points) for plan in plans)
    print(f"{path.as_posix()}: {points} readings of {channels} channels planned for shaker {plans[0].shaker.id}.")
    if checks:
        print(f"  {len(checks)} rows of {', '.join(checked)} besides.")
    unplanned = [caution for plan in plans if not plan.points or not plan.mass_known for caution in plan.cautions]
    for sentence in (*(f"{said}." for said in (*remarks, *unplanned)), *gap_sentences(plans)):
        print(f"  {sentence}")
    return ExitStatus.DONE


def _reach_of(plans: Sequence[ChannelPlan]) -> Callable[[Channel, float], float]:
    """The highest level that a channel's shaker reaches at a frequency; endless where no mass is stated."""
    from vibcal_nb.analysis.planning.shaker import find_reach

    by_tag = {plan.channel.tag: plan for plan in plans}

    def reach(channel: Channel, hz: float) -> float:
        plan = by_tag.get(channel.tag)
        if plan is None or not plan.mass_known:
            return math.inf
        found = find_reach(plan.shaker, frequency_hz=[hz], moving_mass_kg=plan.moving_mass_kg)
        return float(found.level(channel.input_unit)[0])

    return reach


def _valid(item: AssetFolder, day: date) -> tuple[str, ...]:
    from vibcal_nb.analysis.planning.certificates import valid_on

    return valid_on(item.equipment, day)


def _remarks(item: AssetFolder, wanted: _Wanted) -> Iterator[str]:
    """What a person should know of the instruments before the day: those that the visit names, or would."""
    from vibcal_nb.analysis.planning.certificates import certificate_remarks, latest_run_out, missing_remarks
    from vibcal_nb.inputs.load_asset import load_visit_file

    if wanted.visit is None or wanted.day is None:
        return
    named = _valid(item, wanted.day) if wanted.is_new else load_visit_file(wanted.visit).equipment
    references, readouts = item.equipment.used_by(named)
    run_out = latest_run_out(item.equipment, wanted.day) if wanted.is_new else ()
    yield from certificate_remarks((*references, *readouts, *run_out), wanted.day)
    yield from missing_remarks(references, readouts)


def _target(item: AssetFolder, wanted: _Wanted, arguments: argparse.Namespace) -> Path:
    name = f"readings.{arguments.format}"
    if arguments.out is None and wanted.visit is not None:
        return Path(wanted.visit / name)
    return Path((arguments.out or Path("sheets")) / item.asset.tag / name)
