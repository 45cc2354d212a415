"""`import`: old tables into a visit, by a layout that a person has read; shown first, and nothing is guessed."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.model.visit_folder import AssetFolder


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("files", nargs="+", metavar="FILE", type=Path, help="XLSX, ODS, CSV or another text file")
    parser.add_argument("--layout", metavar="L", type=Path, help="the layout file to read them by")
    parser.add_argument("--visit", metavar="FOLDER", type=Path, help="the visit that the readings belong to")
    parser.add_argument("--write", action="store_true", help="write the visit's readings.csv; else it is only shown")
    parser.add_argument(
        "--propose", metavar="L", type=Path, help="write a proposed layout there, to be read and edited"
    )


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Propose a layout, or show what a layout makes of the files; write the reading table where that is asked for."""
    asset = _asset_of(arguments.visit)
    if arguments.layout is None:
        return _propose(arguments, asset)
    return _bring(arguments, asset)


def _asset_of(visit: Path | None) -> AssetFolder | None:
    """The asset of a visit, as it was on the visit's day; the visit's folder need not hold a visit.toml yet."""
    from vibcal_nb.inputs.load_asset import load_asset_folder

    if visit is None:
        return None
    return load_asset_folder(visit.absolute().parent, day=_day_of(visit) or date.max)


def _day_of(visit: Path) -> date | None:
    from vibcal_nb.inputs.load_asset import load_visit_file

    if (visit / "visit.toml").exists():
        return load_visit_file(visit).date
    try:
        return date.fromisoformat(visit.name)
    except ValueError:
        return None


def _propose(arguments: argparse.Namespace, asset: AssetFolder | None) -> ExitStatus:
    from vibcal_nb.inputs.grids.read_grids import read_grids
    from vibcal_nb.inputs.propose.layout_text import layout_text
    from vibcal_nb.inputs.propose.propose import propose_layout
    from vibcal_nb.problems import InputRefused, Problem
    from vibcal_nb.records.files.whole_files import write_atomically

    problems: list[Problem] = []
    path = arguments.files[0]
    grids = read_grids(path, problems)
    if grids is None:
        raise InputRefused(problems)
    proposal = propose_layout(path, grids, tags=list(asset.asset.channels) if asset is not None else ())
    if proposal is None:
        return _refuse(f"{path.name}: no table was found, a row of headings with numbers below; state it in a layout.")
    text = layout_text(proposal.layout, reasons=proposal.reasons, open_=proposal.open)
    if arguments.propose is None:
        print(text, end="")
        print("# Nothing was read: write this to a file by --propose L, mend it, and read the table by --layout L.")
        return ExitStatus.DONE
    if arguments.propose.exists():
        return _refuse(f"{arguments.propose.as_posix()} is there already and is not overwritten; give another name.")
    write_atomically(arguments.propose, text)
    still = len(proposal.open)
    to_do = f"{still} {'thing is' if still == 1 else 'things are'} to be stated in it" if still else "read it"
    print(f"{arguments.propose.as_posix()}: the proposed layout; {to_do}, then give it by --layout.")
    for sentence in proposal.open:
        print(f"  {sentence}")
    return ExitStatus.DONE


def _bring(arguments: argparse.Namespace, asset: AssetFolder | None) -> ExitStatus:
    from vibcal_nb.inputs.layout.read_layout import read_layout_file
    from vibcal_nb.problems import InputRefused, Problem
    from vibcal_nb.records.old_tables.bring import bring
    from vibcal_nb.records.old_tables.preview import preview
    from vibcal_nb.records.old_tables.write_brought import write_brought

    problems: list[Problem] = []
    layout = read_layout_file(arguments.layout, problems)
    if layout is None:
        raise InputRefused(problems)
    day = _day_of(arguments.visit) if arguments.visit is not None else None
    brought = bring(arguments.files, layout, asset=None if asset is None else asset.asset, day=day)
    for line in preview(brought):
        print(line)
    if problems or brought.problems:
        raise InputRefused([*problems, *brought.problems])
    if not arguments.write:
        print("Nothing was written; add --write to make the visit's readings.csv of it.")
        return ExitStatus.DONE
    if asset is None:
        return _refuse("Give the visit that the readings belong to by --visit FOLDER.")
    path = write_brought(arguments.visit, brought, asset=asset.asset, layout=arguments.layout.name)
    print(f"{path.as_posix()}: {len(brought.readings)} readings written.")
    return ExitStatus.DONE


def _refuse(sentence: str) -> ExitStatus:
    print(sentence, file=sys.stderr)
    return ExitStatus.REFUSED
