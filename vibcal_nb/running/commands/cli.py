"""The command line: one small module a command, every refusal a sentence, never a traceback."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from vibcal_nb.problems import NotDone, Refused, in_words
from vibcal_nb.running.commands import check, import_tables, new, overview, run, sheet, verify
from vibcal_nb.running.commands.exit_status import ExitStatus

COMMANDS = {
    "overview": (overview, "the site on one page"),
    "run": (run, "make records: standard notebooks x channels"),
    "new": (new, "a site, an asset or a visit to fill in, every key explained"),
    "check": (check, "check the tables alone; fast"),
    "sheet": (sheet, "a reading table to fill in, planned to what the shaker reaches"),
    "import": (import_tables, "old tables into a visit, by a layout; shown first, nothing guessed"),
    "verify": (verify, "is this record intact, and does it re-perform?"),
}


def build_parser() -> argparse.ArgumentParser:
    """Build the parser of all commands."""
    parser = argparse.ArgumentParser(prog=_program(), description="Analysis of vibration-channel readings.")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (module, about) in COMMANDS.items():
        module.add_arguments(commands.add_parser(name, help=about, description=about))
    return parser


def _program() -> str:
    """The words by which this was called: the console command, or the package."""
    called = Path(sys.argv[0]).stem if sys.argv else ""
    return called if called == "vibcal-nb" else "python -m vibcal_nb"


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    os.environ["PYTHONSAFEPATH"] = "1"  # of every Python that is started from here: the current folder is no library
    arguments = build_parser().parse_args(argv)
    module, _ = COMMANDS[arguments.command]
    try:
        return int(module.execute(arguments))
    except Refused as refused:
        print(refused, file=sys.stderr)
        return int(ExitStatus.NOT_DONE if isinstance(refused, NotDone) else ExitStatus.REFUSED)
    except KeyboardInterrupt:
        print("Stopped; what was finished is kept, and the next run does the rest.", file=sys.stderr)
        return int(ExitStatus.NOT_DONE)
    except Exception as error:  # a person gets a sentence; the traceback is for a developer's debugger
        print(f"This could not be done: {in_words(error)}", file=sys.stderr)
        return int(ExitStatus.NOT_DONE)
