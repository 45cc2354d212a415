"""`verify`: is this record intact, does it follow from its inputs, who signed it off? And `--sign`: sign it off."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.problems import is_storable, on_one_line
from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.running.verify.verify_record import Verified

_SHOWN = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", type=Path, help="a record, page, sheet, or a folder of them"
    )
    parser.add_argument("--inputs", type=Path, metavar="FOLDER", help="where the inputs are: a visit, asset or site")
    parser.add_argument("--allowed-signers", type=Path, metavar="FILE", help="whose keys count (see ssh-keygen(1))")
    sign = parser.add_argument_group("signing off")
    sign.add_argument("--sign", action="store_true", help="sign off the records that are found intact")
    sign.add_argument(
        "--key", type=Path, metavar="FILE", help="your SSH key; without it the sign-off is typed, unsigned"
    )
    sign.add_argument("--name", help="who signs off")
    sign.add_argument("--role", default="reviewer", help="in which role (default: reviewer)")
    sign.add_argument("--remark", default="", help="what else the sign-off says")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Verify every path, say what was found, and sign off what is intact if asked to."""
    from vibcal_nb.records.seal.signoff import SignatureImpossible
    from vibcal_nb.running.verify.verify_files import verify_path
    from vibcal_nb.running.verify.verify_record import Verifier

    refusal = _refusal(arguments)
    if refusal is not None:
        print(refusal, file=sys.stderr)
        return ExitStatus.REFUSED
    verifier = Verifier(inputs=arguments.inputs, allowed_signers=arguments.allowed_signers)
    counts = {True: 0, False: 0}
    try:
        for path in arguments.paths:
            for verified in verify_path(path, verifier):
                good = not verified.faults
                counts[good] += 1
                _say(verified)
                if arguments.sign and good and verified.path.suffix == ".ipynb" and "intact" in verified.said:
                    _sign(verified.path, arguments)
    except SignatureImpossible as error:
        print(error, file=sys.stderr)
        return ExitStatus.NOT_DONE
    if not sum(counts.values()):
        print("There is no record here.", file=sys.stderr)
        return ExitStatus.REFUSED
    print(f"{counts[True]} in order, {counts[False]} not.")
    return ExitStatus.NOT_ALL_PASS if counts[False] else ExitStatus.DONE


def _refusal(arguments: argparse.Namespace) -> str | None:
    named = [*arguments.paths, *(path for path in (arguments.inputs, arguments.allowed_signers) if path is not None)]
    for path in named:
        if not path.exists():
            return f"There is no {path.as_posix()}."
    if arguments.sign and not (arguments.name or "").strip():
        return "A sign-off needs to know who signs: give --name."
    if arguments.sign and not is_storable(f"{arguments.name}{arguments.role}{arguments.remark}"):
        return "A sign-off is kept as UTF-8, which --name, --role or --remark is not; type it anew."
    if arguments.key is not None and not arguments.sign:
        return "A key is used to sign off: give --sign too."
    return None


def _say(verified: Verified) -> None:
    """Say what was found. Texts are a file's own, which may hold whatever a terminal would take for a command."""
    if not verified.faults:
        print(on_one_line(f"✓ {verified.path.as_posix()}: {'; '.join(verified.said)}"))
        return
    print(on_one_line(f"✗ {verified.path.as_posix()}: NOT as it was made"))
    more = len(verified.faults) - _SHOWN
    texts = [*verified.faults[:_SHOWN], *([f"... and {more} more"] if more > 0 else [])]
    texts += [f"({text})" for text in verified.said if text != "intact"]
    for text in texts:
        print(on_one_line(f"    {text}"))


def _sign(record: Path, arguments: argparse.Namespace) -> None:
    from vibcal_nb.records.seal.intact import check_seal
    from vibcal_nb.records.seal.signoff import write_signoff

    seal = check_seal(record.read_bytes()).seal
    if seal is None:
        return
    path = write_signoff(
        record,
        seal=seal["digest"],
        name=arguments.name.strip(),
        role=arguments.role,
        date=date.today().isoformat(),
        remark=arguments.remark,
        key=arguments.key,
    )
    print(f"    signed off{'' if arguments.key else ', typed and unsigned'}: {path.as_posix()}")
