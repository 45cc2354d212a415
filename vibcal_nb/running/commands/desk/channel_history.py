"""`channel-history`: a channel's life on one page: verdicts, exchanges, adjustments, set points, sign-offs, drift."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import say


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("visit", metavar="VISIT", type=Path, help="the latest visit that is looked at")
    parser.add_argument("--channel", required=True, metavar="TAG", help="the channel")
    parser.add_argument("--records", type=Path, metavar="FOLDER", help="a records folder: who signed, who returned")
    parser.add_argument("--html", type=Path, metavar="FILE", help="the page (default: TAG history.html)")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Gather the channel's life, say it in a sentence, and write the page."""
    from vibcal_nb.display.life.life_tables import answer_sentence
    from vibcal_nb.metrology.conformity.decision import PASSING
    from vibcal_nb.model.names import AS_FOUND, AS_LEFT
    from vibcal_nb.problems import in_words
    from vibcal_nb.records.files.places import path_name
    from vibcal_nb.records.files.whole_files import write_atomically
    from vibcal_nb.records.life.gather_life import gather_life
    from vibcal_nb.records.life.life_page import life_page

    if arguments.records is not None and not arguments.records.is_dir():
        print(
            f"{arguments.records.as_posix()}: no such folder; give a records folder, as run makes it.", file=sys.stderr
        )
        return ExitStatus.REFUSED
    life = gather_life(arguments.visit, channel=arguments.channel, records=arguments.records)
    path = arguments.html or Path(f"{path_name(life.channel)} history.html")
    try:
        write_atomically(path, life_page(life))
    except OSError as error:
        print(in_words(error), file=sys.stderr)
        return ExitStatus.NOT_DONE
    say(answer_sentence(life))
    for event in life.events:
        say(f"  {event.day} {event.kind}: {event.said}")
    say(f"Page: {path.as_posix()}")
    last = life.visits[-1]
    verdict = last.verdict(AS_LEFT) or last.verdict(AS_FOUND)
    return ExitStatus.DONE if verdict in PASSING else ExitStatus.NOT_ALL_PASS
