"""`review`: the queue of records, the worst first; accept or return them, each with its own words, by your own key."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import say, say_heading, say_verdict

if TYPE_CHECKING:
    from vibcal_nb.records.review.decide import Reviewer
    from vibcal_nb.records.review.queue import ReviewItem

    Decide = Callable[[ReviewItem, Reviewer, str], Path]

_SHOWN = 40


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("records", metavar="RECORDS", type=Path, nargs="+", help="records, or folders of them")
    parser.add_argument("--all", action="store_true", help="list what is signed or returned, too")
    parser.add_argument(
        "--accept",
        nargs=2,
        action="append",
        default=[],
        metavar=("RECORD", "REMARK"),
        help="sign one off, with a remark",
    )
    parser.add_argument(
        "--return", nargs=2, action="append", default=[], metavar=("RECORD", "REASON"), dest="give_back",
        help="return one, with the reason",
    )  # fmt: skip
    parser.add_argument("--accept-passing", metavar="REMARK", help="sign off all that pass and are open, with a remark")
    parser.add_argument("--name", default="", help="who decides: the name that the list of allowed signers has")
    parser.add_argument("--key", type=Path, metavar="FILE", help="your SSH key, or its .pub with an agent")
    parser.add_argument("--site", type=Path, metavar="FOLDER", help="the site's folder, with site.toml: who may review")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Decide what was asked for, then say what is open, the worst first."""
    from vibcal_nb.records.review.queue import Standing, list_queue
    from vibcal_nb.records.review.seen import read_seen

    items = list_queue(arguments.records, {})
    root = items[0].root
    decided = _decide(items, arguments)
    if decided is not None:
        return decided
    seen = read_seen(root, arguments.name) if arguments.name else {}
    items = list_queue(arguments.records, seen)
    wanted = [item for item in items if arguments.all or item.standing not in (Standing.SIGNED, Standing.RETURNED)]
    _say_queue(wanted)
    _say_counts(items)
    broken = any(item.standing is Standing.BROKEN for item in items)
    return ExitStatus.NOT_ALL_PASS if broken or any(item.is_open for item in items) else ExitStatus.DONE


def _decide(items: Sequence[ReviewItem], arguments: argparse.Namespace) -> ExitStatus | None:
    """Sign off and return what was asked for; return why not as a status, None where all was done."""
    from vibcal_nb.problems import NotDone, Refused
    from vibcal_nb.records.review.decide import accept, give_back

    asked: list[tuple[str, str, Decide]] = [(place, words, accept) for place, words in arguments.accept]
    asked += [(place, words, give_back) for place, words in arguments.give_back]
    if not asked and arguments.accept_passing is None:
        return None
    if not arguments.name.strip():
        print("A decision needs to know whose it is: give --name.", file=sys.stderr)
        return ExitStatus.REFUSED
    try:
        reviewer = _reviewer(items, arguments)
        chosen = [(_named(items, place), words, how) for place, words, how in asked]
        if arguments.accept_passing is not None:
            open_ones = [item for item in items if item.passes and item.is_open]
            chosen += [(item, arguments.accept_passing, accept) for item in open_ones]
        for item, words, how in chosen:
            path = how(item, reviewer, words)
            done = "signed off" if how is accept else "returned"
            say(f"{item.name}: {done}{'' if reviewer.key else ', typed and unsigned'}: {path.name}")
    except (Refused, OSError) as error:
        print(error, file=sys.stderr)
        return ExitStatus.NOT_DONE if isinstance(error, NotDone | OSError) else ExitStatus.REFUSED
    return None


def _reviewer(items: Sequence[ReviewItem], arguments: argparse.Namespace) -> Reviewer:
    from vibcal_nb.records.files.plain_files import read_plain
    from vibcal_nb.records.review.decide import Reviewer, rule_of
    from vibcal_nb.records.seal.intact import check_seal
    from vibcal_nb.running.verify.find_inputs import find_inputs

    site = arguments.site
    if site is None:
        visit = find_inputs(check_seal(read_plain(items[0].path)).seal or {}, None)
        site = None if visit is None else visit.parent.parent
    return Reviewer(name=arguments.name.strip(), key=arguments.key, rule=rule_of(site))


def _named(items: Sequence[ReviewItem], named: str) -> ReviewItem:
    """The record that a person names: by its file, or by the end of its place."""
    from vibcal_nb.problems import Refused, shown

    path = Path(named).absolute()
    found = [item for item in items if item.path == path] or [
        item for item in items if f"/{item.place}".endswith(f"/{Path(named).as_posix()}")
    ]
    if len(found) != 1:
        raise Refused(f"{shown(named)}: {len(found)} records of the queue are called that; give the file of one.")
    return found[0]


def _say_queue(items: Sequence[ReviewItem]) -> None:
    from vibcal_nb.records.review.queue import WORDS

    before = None
    for item in items[:_SHOWN]:
        if item.standing is not before:
            say_heading(WORDS[item.standing].capitalize())
            before = item.standing
        line = f"  {item.name}: {item.reasons[0]}"
        say_verdict(item.verdict, line) if item.verdict else say(line)
        for text in (*item.reasons[1:], *(f"changed: {text}" for text in item.changed[:5])):
            say(f"      {text}")
        say(f"      see: {item.path.as_posix()}")
    if len(items) > _SHOWN:
        say(f"  ... and {len(items) - _SHOWN} more")


def _say_counts(items: Sequence[ReviewItem]) -> None:
    from vibcal_nb.records.review.queue import WORDS, Standing

    counts = {standing: sum(item.standing is standing for item in items) for standing in Standing}
    say(", ".join(f"{count} {WORDS[standing]}" for standing, count in counts.items() if count) + ".")
