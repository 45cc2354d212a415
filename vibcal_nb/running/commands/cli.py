"""The command line: one small module a command, every refusal a sentence, never a traceback."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

import vibcal_nb
from vibcal_nb.problems import NotDone, Refused, in_words
from vibcal_nb.running.commands import check, compare, import_tables, new, overview, run, sheet, verify
from vibcal_nb.running.commands.desk import bundle, certificate, channel_history, review
from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import program

COMMANDS = {
    "new": (new, "a site, an asset or a visit to fill in, every key explained"),
    "check": (check, "check the tables alone; fast"),
    "run": (run, "make records: standard notebooks x channels"),
    "overview": (overview, "the site on one page"),
    "verify": (verify, "is this record intact, and does it re-perform?"),
    "compare": (compare, "what differs between two revisions, visits, conditions or channels"),
    "certificate": (certificate, "a channel's visit as a Digital Calibration Certificate (XML)"),
    "review": (review, "what needs a decision first; accept or return, by your own key"),
    "channel-history": (channel_history, "a channel's life on one page, over all its visits"),
    "bundle": (bundle, "a visit in one file to hand over: records, inputs, signatures"),
    "sheet": (sheet, "a reading table to fill in, planned to what the shaker reaches"),
    "import": (import_tables, "old tables into a visit, by a layout; shown first, nothing guessed"),
}


EXAMPLES = {
    "new": "new my_site",
    "check": "check my_site",
    "run": "run my_site --latest",
    "overview": "overview records --xlsx site.xlsx",
    "verify": "verify records --inputs my_site",
    "compare": "compare records/STG-1/2026-05-19/STG-1-V21/linearity.as-found.ipynb",
    "certificate": "certificate records/STG-1/2026-05-19/STG-1-V21 --site my_site",
    "review": 'review records --accept STG-1-V11/linearity.as-found.ipynb "seen" --name "Engineer D" --key KEY.pub',
    "channel-history": "channel-history my_site/STG-1/2026-05-19 --channel STG-1-V11 --records records",
    "bundle": "bundle records/STG-1/2026-05-19 --inputs my_site --out visit.zip",
    "sheet": "sheet my_site/STG-1/2027-03-01",
    "import": "import old.xlsx --layout old_layout.toml --visit my_site/STG-1/2019-05-14",
}
STATUSES = """exit status:
  0  all was done, and every verdict is pass or conditional pass
  1  all was done; some verdict is fail, conditional fail or not verified
  2  input or usage was refused, and nothing was written for it
  3  something could not be done"""


def build_parser() -> argparse.ArgumentParser:
    """Build the parser of all commands."""
    examples = "\n".join(f"  {program()} {line}" for line in EXAMPLES.values())
    parser = argparse.ArgumentParser(
        prog=program(),
        description="Analysis of vibration-channel readings: is each channel linear and in tolerance, up to its trip?",
        epilog=f"examples:\n{examples}\n\n{STATUSES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"vibcal-nb {vibcal_nb.__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (module, about) in COMMANDS.items():
        command = commands.add_parser(
            name,
            help=about,
            description=about,
            epilog=f"example:\n  {program()} {EXAMPLES[name]}\n\n{STATUSES}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        module.add_arguments(command)
        command.set_defaults(parser=command)
    return parser


def _read(argv: Sequence[str] | None) -> argparse.Namespace:
    """Read the arguments; an unknown option shows the usage of the command that it was given to."""
    arguments, unknown = build_parser().parse_known_args(argv)
    if unknown:
        arguments.parser.error(f"there is no {' '.join(unknown)}; see {arguments.parser.prog} --help")
    return arguments


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    os.environ["PYTHONSAFEPATH"] = "1"  # of every Python that is started from here: the current folder is no library
    arguments = _read(argv)
    module, _ = COMMANDS[arguments.command]
    try:
        return int(module.execute(arguments))
    except Refused as refused:
        print(refused, file=sys.stderr)
        return int(ExitStatus.NOT_DONE if isinstance(refused, NotDone) else ExitStatus.REFUSED)
    except BrokenPipeError:  # who reads along has read enough; the interpreter would complain once more as it ends
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return int(ExitStatus.DONE)
    except KeyboardInterrupt:
        print("Stopped; what was finished is kept, and the next run does the rest.", file=sys.stderr)
        return int(ExitStatus.NOT_DONE)
    except Exception as error:  # a person gets a sentence; the traceback is for a developer's debugger
        print(f"This could not be done: {in_words(error)}", file=sys.stderr)
        return int(ExitStatus.NOT_DONE)
