"""`check`: are the folders' visits usable, and what will keep a pass from being said? What looks wrong is asked about.

Nothing is executed, changed or written.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.model.readings import ReadingTable
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.analysis.relay.visit_gates import VisitGate

MOST_NAMED = 6  # channels in one sentence


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("folders", nargs="+", metavar="FOLDER", type=Path, help="a visit, an asset or a site")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Load every visit, say what it holds, which gates it meets and what looks wrong; problems are the caller's."""
    from datetime import date

    from vibcal_nb.analysis.questions.ask import ask_about
    from vibcal_nb.analysis.relay.visit_gates import list_visit_gates
    from vibcal_nb.inputs.load_asset import load_asset_folder
    from vibcal_nb.inputs.load_visits import find_visits, load_visits

    status = ExitStatus.DONE
    bare = {folder: _without_visits(folder) for folder in arguments.folders}
    for asset in [load_asset_folder(path) for found, _ in bare.values() for path in found]:
        channels = _count(len(asset.asset.channels), "channel")
        print(f"{asset.asset.tag}: {channels}, no visit yet; no problem found. Plan one: sheet {asset.path}/DAY.")
    paths = [path for folder, (_, is_all) in bare.items() if not is_all for path in find_visits(folder)]
    visits = load_visits(paths)
    asked: set[str] = set()  # what is said of an asset holds for all its visits
    for visit in visits:
        earlier = [other for other in visits if _is_earlier(other, visit)]
        questions = [question.sentence for question in ask_about(visit, earlier=earlier, today=date.today())]
        name = f"{visit.asset.tag} {visit.path.name}"
        new = [sentence for sentence in questions if f"{visit.asset.tag} {sentence}" not in asked]
        asked |= {f"{visit.asset.tag} {sentence}" for sentence in new if sentence.startswith("asset.toml")}
        gates = () if visit.is_planned else list_visit_gates(visit)
        _say(visit, name, gates, new)
        status = max(status, ExitStatus.NOT_ALL_PASS if gates else ExitStatus.DONE)
    return status


def _without_visits(folder: Path) -> tuple[list[Path], bool]:
    """Return the assets of a site, or the asset, to which nobody has been yet, and whether these are all assets."""
    if (folder / "visit.toml").exists() or not folder.is_dir():
        return [], False
    inside = [folder] if (folder / "asset.toml").is_file() else sorted(folder.iterdir())
    assets = [path for path in inside if (path / "asset.toml").is_file()]
    bare = [path for path in assets if not any((inner / "visit.toml").exists() for inner in path.iterdir())]
    return bare, bool(assets) and bare == assets


def _whose(held: VisitGate) -> str:
    """Name the channels and tests that a gate holds."""
    if held.of_all:
        return "all tests"
    channels = list(dict.fromkeys(channel for channel, _, _ in held.cases))
    tests = ", ".join(dict.fromkeys(test for _, test, _ in held.cases))
    more = f" and {len(channels) - MOST_NAMED} more" if len(channels) > MOST_NAMED else ""
    return f"{tests} of {', '.join(channels[:MOST_NAMED])}{more}"


def _is_earlier(other: VisitFolder, visit: VisitFolder) -> bool:
    return other.asset.tag == visit.asset.tag and other.visit.date < visit.visit.date


def _say(visit: VisitFolder, name: str, gates: Sequence[VisitGate], questions: Sequence[str]) -> None:
    asked = _count(len(questions), "question") if questions else "no question"
    if visit.is_planned:
        print(f"{name}: {planned_words(visit)}; no problem found, {asked}.")
    else:
        print(f"{name}: {_held(visit)}; no problem found, {asked}.")
    if visit.table.open and not visit.is_planned:
        print(f"  {pending_sentence(visit.table)}")
    if visit.table.readings:
        for line in _progress_lines(visit.table):
            print(f"  {line}")
    for line in _certificate_lines(visit):
        print(f"  {line}")
    for held_by in gates:
        print(f"  not verified as it stands, {_whose(held_by)}: {held_by.gate.sentence}.")
    for sentence in questions:
        print(f"  ? {sentence}")


def _certificate_lines(visit: VisitFolder) -> list[str]:
    """Say what was taken from the certificates' files of the references that a visit names."""
    return [
        f"{item.id}: uncertainty from {item.uncertainty[0].from_hz:g} to {item.uncertainty[-1].to_hz:g} Hz by the file "
        f"of certificate {item.certificate} (sum {item.certificate_sha256[:12]})."
        for item in visit.references
        if item.certificate_sha256 is not None and item.uncertainty
    ]


def planned_words(visit: VisitFolder) -> str:
    """Say of a visit without readings when it is planned for, and how much is to be read."""
    rows = len(visit.table.open)
    return f"planned for {visit.visit.date.isoformat()}, {_count(rows, 'row') + ' to read' if rows else 'no sheet yet'}"


def _held(visit: VisitFolder) -> str:
    readings = visit.table.readings
    channels = len({reading.channel for reading in readings})
    excluded = sum(reading.exclude is not None for reading in readings)
    return f"{_count(len(readings), 'reading')} of {_count(channels, 'channel')}, {excluded} excluded"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _progress_lines(table: ReadingTable) -> list[str]:
    """Say how far each channel has got: ``STG-1-V11: linearity as-found 6 of 14 read``."""
    from vibcal_nb.analysis.questions.progress import progress

    by_channel: dict[str, list[str]] = {}
    for item in progress(table):
        by_channel.setdefault(item.channel, []).append(
            f"{item.test} {item.condition} {item.read} of {item.planned} read"
        )
    return [f"{channel}: {', '.join(tests)}." for channel, tests in by_channel.items()]


def pending_sentence(table: ReadingTable) -> str:
    """Say which rows of a half-filled sheet are not yet readings."""
    rows, count = [row.row for row in table.open], len(table.open)
    listed = ", ".join(str(row) for row in rows[:8]) + (", ..." if count > 8 else "")
    noun, are = ("row has", "is") if count == 1 else ("rows have", "are")
    return f"{table.file}: {count} {noun} no output and {are} not yet read (row{'' if count == 1 else 's'} {listed})."
