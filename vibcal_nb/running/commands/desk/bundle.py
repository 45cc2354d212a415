"""`bundle`: a visit in one file to hand over, which `verify` checks on any machine."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import say


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("visit", metavar="VISIT", type=Path, help="a visit's folder of records: RECORDS/ASSET/VISIT")
    parser.add_argument("--out", type=Path, metavar="FILE", help="the bundle (default: ASSET VISIT.zip, here)")
    parser.add_argument("--inputs", type=Path, metavar="FOLDER", help="where the inputs are: a visit, asset or site")
    parser.add_argument(
        "--allowed-signers", type=Path, metavar="FILE", help="the list of whose keys count, to go along"
    )
    parser.add_argument("--key", type=Path, metavar="FILE", help="your SSH key, which signs the bundle as a whole")
    parser.add_argument("--name", default="", help="who signs: the name that the list of allowed signers has")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Write the bundle and say what it holds."""
    from vibcal_nb.display.writing.names import plural
    from vibcal_nb.problems import in_words
    from vibcal_nb.records.bundle.manifest import INPUTS
    from vibcal_nb.records.bundle.pack import write_bundle
    from vibcal_nb.records.files.plain_files import is_plain

    if arguments.key is not None and not arguments.name.strip():
        print("A signature needs to say whose it is: give --name.", file=sys.stderr)
        return ExitStatus.REFUSED
    if arguments.allowed_signers is not None and not is_plain(arguments.allowed_signers):
        print(
            f"{arguments.allowed_signers.as_posix()}: no such file; give the list of allowed signers.", file=sys.stderr
        )
        return ExitStatus.REFUSED
    visit: Path = arguments.visit.absolute()
    out = arguments.out or Path(f"{visit.parent.name} {visit.name}.zip")
    inputs = _inputs(visit, arguments.inputs)
    try:
        manifest = write_bundle(
            visit,
            out,
            inputs=inputs,
            signers=arguments.allowed_signers,
            name=arguments.name.strip(),
            key=arguments.key,
        )
    except OSError as error:
        print(in_words(error), file=sys.stderr)
        return ExitStatus.NOT_DONE
    size = out.stat().st_size / 1e6
    say(f"{out.as_posix()}: {plural(len(manifest.sums), 'file')}, {size:.1f} MB")
    if not any(name.startswith(f"{INPUTS}/") for name in manifest.sums):
        say("  without the site's inputs, which are not at hand (--inputs)")
    if arguments.allowed_signers is None:
        say("  without a list of allowed signers (--allowed-signers): who checks it needs one of their own")
    say(f"  signed by {manifest.by}" if manifest.by else "  not signed as a whole (--key, --name)")
    return ExitStatus.DONE


def _inputs(visit: Path, inputs: Path | None) -> Path | None:
    """The visit's folder in its site: as the records state it, or below what was given."""
    from vibcal_nb.records.seal.intact import check_seal
    from vibcal_nb.running.verify.find_inputs import find_inputs

    for record in sorted(visit.glob("*/*.ipynb")):
        seal = check_seal(record.read_bytes()).seal
        found = None if seal is None else find_inputs(seal, inputs)
        if found is not None:
            return found
    return None
