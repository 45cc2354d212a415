"""`sheet`: a reading table to fill in at the next visit, planned to what the shaker reaches."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.model.names import AS_FOUND, AS_LEFT
from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.model.visit_folder import AssetFolder


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="a visit, an asset or a site")
    parser.add_argument("--out", type=Path, help="where the sheets go (default: a visit's own folder, else ./sheets)")
    parser.add_argument("--channel", action="append", default=[], metavar="TAG", help="only this channel (repeatable)")
    parser.add_argument("--test", action="append", default=[], metavar="NAME", help="only this test (repeatable)")
    parser.add_argument("--condition", choices=(AS_FOUND, AS_LEFT), default=AS_FOUND)
    parser.add_argument("--shaker", metavar="ID", help="plan for this shaker (default: the one that reaches most)")
    parser.add_argument("--moving-mass", type=float, metavar="KG", help="in place of moving_mass_kg in asset.toml")
    parser.add_argument("--format", choices=("xlsx", "csv"), default="xlsx")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Write one sheet an asset; a reading table that is there already is never overwritten."""
    from vibcal_nb.analysis.planning.shaker import ShakerError
    from vibcal_nb.inputs.load_asset import find_asset_folders, load_asset_folder
    from vibcal_nb.problems import NothingToPlan

    assets = [load_asset_folder(path) for path in find_asset_folders(arguments.folder)]
    known = [tag for item in assets for tag in item.asset.channels]
    for tag in arguments.channel:
        if tag not in known:
            return _refuse(f"There is no channel '{tag}'; known are {', '.join(known)}.")
    status = ExitStatus.DONE
    for item in assets:
        if not arguments.channel or set(arguments.channel) & set(item.asset.channels):
            try:
                status = max(status, _write(item, arguments))
            except (NothingToPlan, ShakerError) as reason:
                status = _refuse(f"{item.asset.tag}: {reason}")
    return status


def _refuse(sentence: str) -> ExitStatus:
    print(sentence, file=sys.stderr)
    return ExitStatus.REFUSED


def _write(item: AssetFolder, arguments: argparse.Namespace) -> ExitStatus:
    from vibcal_nb.analysis.planning.asset_plan import plan_asset
    from vibcal_nb.inputs.load_visits import TABLES
    from vibcal_nb.model.names import SHAKER_TESTS
    from vibcal_nb.records.reading_table.reading_sheet import write_sheet_csv, write_sheet_xlsx
    from vibcal_nb.records.reading_table.reading_sheet_rows import gap_sentences

    unknown = [test for test in arguments.test if test not in SHAKER_TESTS]
    if unknown:
        return _refuse(f"No test '{unknown[0]}' can be planned; give one of {', '.join(SHAKER_TESTS)}.")
    shakers = item.equipment.shakers
    chosen = [shaker for shaker in shakers if arguments.shaker in (None, shaker.id)]
    if not chosen:
        ids = ", ".join(shaker.id for shaker in shakers) or "none: add a [[shaker]] table"
        return _refuse(f"There is no shaker '{arguments.shaker or ''}' in equipment.toml; it has {ids}.")
    path = _target(item, arguments)
    there = [path.parent / name for name in TABLES if (path.parent / name).exists()]
    if there:
        return _refuse(f"{there[0].as_posix()} is there already and is not overwritten; give another folder by --out.")
    channels = [c for tag, c in item.asset.channels.items() if not arguments.channel or tag in arguments.channel]
    plans = plan_asset(
        channels,
        shakers=chosen,
        others=shakers,
        moving_mass_kg=arguments.moving_mass,
        tests=arguments.test or SHAKER_TESTS,
    )
    write = write_sheet_csv if arguments.format == "csv" else write_sheet_xlsx
    write(path, plans, condition=arguments.condition)
    points = sum(len(plan.points) for plan in plans)
    print(f"{path.as_posix()}: {points} readings of {len(plans)} channels planned for shaker {plans[0].shaker.id}.")
    for sentence in gap_sentences(plans):
        print(f"  {sentence}")
    return ExitStatus.DONE


def _target(item: AssetFolder, arguments: argparse.Namespace) -> Path:
    name = f"readings.{arguments.format}"
    if arguments.out is None and (arguments.folder / "visit.toml").exists():
        return Path(arguments.folder / name)
    return Path((arguments.out or Path("sheets")) / item.asset.tag / name)
