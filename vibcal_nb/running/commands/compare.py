"""`compare`: what differs between two records: rows, limits, certificates, software, numbers, verdicts."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import say


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("record", metavar="RECORD", type=Path, help="a record, compared with the revision it replaced")
    parser.add_argument("other", metavar="RECORD", type=Path, nargs="?", help="or the first of two, and this after it")
    parser.add_argument("--html", type=Path, metavar="FILE", help="write the comparison as a page, too")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Compare two records and say what differs; the status is that of the later record's verdict."""
    from vibcal_nb.metrology.conformity.decision import PASSING
    from vibcal_nb.problems import file_trouble
    from vibcal_nb.records.compare.comparison import compare_records, earlier_revision, open_record
    from vibcal_nb.records.compare.comparison_page import comparison_page
    from vibcal_nb.records.compare.comparison_words import comparison_lines
    from vibcal_nb.records.files.whole_files import write_atomically

    first = open_record(arguments.record)
    before, after = (
        (earlier_revision(first), first) if arguments.other is None else (first, open_record(arguments.other))
    )
    comparison = compare_records(before, after)
    for line in comparison_lines(comparison):
        say(line)
    if arguments.html is not None:
        try:
            write_atomically(arguments.html, comparison_page(comparison))
        except OSError as error:
            print(f"{file_trouble(error)}.", file=sys.stderr)
            return ExitStatus.NOT_DONE
        say(f"Page: {arguments.html.as_posix()}")
    return ExitStatus.DONE if comparison.verdicts[1] in PASSING else ExitStatus.NOT_ALL_PASS
