"""`new`: a site, an asset or a visit to fill in, every key explained; what is there already stays as it is."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.records.new_files.write_new import NewFiles


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, nargs="?", help="SITE, SITE/ASSET or SITE/ASSET/DAY")
    parser.add_argument(
        "--channel",
        action="append",
        default=[],
        metavar="TAG=KIND",
        help="a channel of the asset, of a common kind or of one in kinds.toml (repeatable)",
    )
    parser.add_argument("--kind", action="append", default=[], metavar="NAME", help="a common kind (repeatable)")
    parser.add_argument("--rotor", action="append", default=[], metavar="NAME", help="a rotor's name (repeatable)")
    parser.add_argument("--kinds", action="store_true", help="list the common kinds")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Write the files that the folder lacks, and say what to do next."""
    from vibcal_nb.records.new_files.write_new import plan_new

    if arguments.kinds:
        return _list_kinds()
    if arguments.folder is None:
        return _refuse("Give a folder: SITE, SITE/ASSET or SITE/ASSET/DAY; --kinds lists the common kinds of channel.")
    channels = [tuple(part.strip() for part in text.partition("=")[::2]) for text in arguments.channel]
    for text, (tag, kind) in zip(arguments.channel, channels, strict=True):
        if not tag or not kind:
            return _refuse(f"--channel {text}: give TAG=KIND; --kinds lists the common kinds of channel.")
    new = plan_new(arguments.folder, channels=channels, kinds=arguments.kind, rotors=arguments.rotor)
    extended = frozenset(path for path in new.texts if path.exists())
    new.write()
    return _say(new, extended, arguments.folder)


def _list_kinds() -> ExitStatus:
    from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS

    for kind in COMMON_KINDS.values():
        print(f"{kind.name}: {kind.about}")
    return ExitStatus.DONE


def _say(new: NewFiles, extended: frozenset[Path], folder: Path) -> ExitStatus:
    from vibcal_nb.records.new_files.schemas import FOLDER

    for path in new.kept:
        print(f"{path.as_posix()}: is there already, and stays as it is.")
    files = [path for path in new.texts if path.parent.name != FOLDER]
    for path in files:
        open_ = new.texts[path].count(' = ""')
        done = "tables added at its end" if path in extended else "written"
        print(f"{path.as_posix()}: {done}{f', {open_} to fill in' if open_ else ''}.")
    if len(files) < len(new.texts):
        print("Schemas for editors that read '#:schema': written.")
    if not new.texts:
        return _refuse("Nothing was written; add --channel TAG=KIND or --kind NAME, or give another folder.")
    print(_NEXT[new.level].format(folder=folder.as_posix()))
    return ExitStatus.DONE


_NEXT = {
    "site": "Next: fill them in, then new {folder}/ASSET --channel TAG=KIND; --kinds lists the common kinds.",
    "asset": "Next: fill them in, then check {folder}, which names what is still open.",
    "visit": "Next: sheet {folder}, which writes the reading table; then check and run.",
}


def _refuse(sentence: str) -> ExitStatus:
    print(sentence, file=sys.stderr)
    return ExitStatus.REFUSED
