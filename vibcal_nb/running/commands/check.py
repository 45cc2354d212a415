"""`check`: are the tables and files of the folders' visits usable? Nothing is executed or written."""

from __future__ import annotations

import argparse
from pathlib import Path

from vibcal_nb.model.readings import ReadingTable
from vibcal_nb.running.commands.exit_status import ExitStatus


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("folders", nargs="+", metavar="FOLDER", type=Path, help="a visit, an asset or a site")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Load every visit and say what it holds; every problem is said by the caller."""
    from vibcal_nb.inputs.load_visits import find_visits, load_visits

    paths = [path for folder in arguments.folders for path in find_visits(folder)]
    for visit in load_visits(paths):
        readings = visit.table.readings
        channels = {reading.channel for reading in readings}
        excluded = sum(reading.exclude is not None for reading in readings)
        print(
            f"{visit.asset.tag} {visit.path.name}: {len(readings)} readings of {len(channels)} channels, "
            f"{excluded} excluded; no problem found."
        )
        if visit.table.pending:
            print(f"  {pending_sentence(visit.table)}")
    return ExitStatus.DONE


def pending_sentence(table: ReadingTable) -> str:
    """Say which rows of a half-filled sheet are not yet readings."""
    rows, count = table.pending, len(table.pending)
    listed = ", ".join(str(row) for row in rows[:8]) + (", ..." if count > 8 else "")
    noun, are = ("row has", "is") if count == 1 else ("rows have", "are")
    return f"{table.file}: {count} {noun} no output and {are} not yet read (row{'' if count == 1 else 's'} {listed})."
