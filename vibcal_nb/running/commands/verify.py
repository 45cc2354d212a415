"""`verify`: is this record what was made, does it follow from its inputs, who signed it off? And `--sign` signs it."""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.problems import Refused, in_words, is_storable, on_one_line
from vibcal_nb.running.commands.exit_status import ExitStatus

if TYPE_CHECKING:
    from vibcal_nb.model.site.site_facts import ReviewRule
    from vibcal_nb.running.verify.sign_records import RecordToSign
    from vibcal_nb.running.verify.states import State, Verified
    from vibcal_nb.running.verify.verifier import Verifier

_SHOWN = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", type=Path, help="a record, page, report, a folder of them, or a bundle"
    )
    parser.add_argument("--inputs", type=Path, metavar="FOLDER", help="where the inputs are: a visit, asset or site")
    parser.add_argument("--allowed-signers", type=Path, metavar="FILE", help="whose keys count (see ssh-keygen(1))")
    parser.add_argument("-v", "--verbose", action="store_true", help="name every file, also those that are in order")
    parser.add_argument(
        "--witness", type=Path, metavar="FILE", help="compare with the hash chain of run --witness, kept elsewhere"
    )
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, metavar="N", help="records at a time")
    parser.add_argument(
        "--requirements", type=Path, metavar="FILE", help="write the exact versions that the record was made with"
    )
    sign = parser.add_argument_group("signing off")
    sign.add_argument("--sign", action="store_true", help="sign off the records that are found in order")
    sign.add_argument("--verdict", action="append", default=[], metavar="WORD", help="only records of this verdict")
    sign.add_argument(
        "--key", type=Path, metavar="FILE", help="your SSH key; without it the sign-off is typed, unsigned"
    )
    sign.add_argument("--name", help="who signs off: the name that the list of allowed signers has")
    sign.add_argument("--role", default="reviewer", help="in which role (default: reviewer)")
    sign.add_argument("--remark", default="", help="what else the sign-off says")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Verify every path, say what was found, and sign off what is in order if asked to."""
    refusal = _refusal(arguments)
    if refusal is not None:
        print(refusal, file=sys.stderr)
        return ExitStatus.REFUSED
    if arguments.requirements is not None:
        return _write_requirements(arguments)
    from vibcal_nb.running.commands.desk.check_bundle import check_bundle, names_bundle

    if names_bundle(arguments):
        return check_bundle(arguments, _verify_here, lambda verified: _say(verified, arguments))
    return _verify_here(arguments)


def _verify_here(arguments: argparse.Namespace) -> ExitStatus:
    from vibcal_nb.records.signoff.allowed_signers import SignersUnusable

    try:
        verifier = _verifier(arguments)
    except SignersUnusable as error:
        print(error, file=sys.stderr)
        return ExitStatus.REFUSED
    return _verify_all(arguments, verifier)


def _verify_all(arguments: argparse.Namespace, verifier: Verifier) -> ExitStatus:
    from vibcal_nb.records.files.places import no_record_in
    from vibcal_nb.records.signoff.ssh import SignatureImpossible
    from vibcal_nb.running.verify.states import State

    counts: Counter[State | None] = Counter()
    to_sign: list[Path] = []
    try:
        for verified in _each(arguments, verifier):
            counts[verified.state] += 1
            is_witness = verifier.witness is not None and verified.path == verifier.witness.path
            if arguments.verbose or arguments.sign or is_witness or verified.state is not None:
                _say(verified, arguments)
            if verified.may_be_signed:
                to_sign.append(verified.path)
        if arguments.sign:
            refusal = _sign_all(to_sign, arguments)
            if refusal is not None:
                print(refusal, file=sys.stderr)
                return ExitStatus.REFUSED
    except SignatureImpossible as error:
        print(error, file=sys.stderr)
        return ExitStatus.NOT_DONE
    if not counts:
        print(no_record_in(arguments.paths), file=sys.stderr)
        return ExitStatus.REFUSED
    print(_summary(counts))
    if counts[State.UNREADABLE]:
        return ExitStatus.NOT_DONE
    return ExitStatus.DONE if set(counts) == {None} else ExitStatus.NOT_ALL_PASS


def _each(arguments: argparse.Namespace, verifier: Verifier) -> Iterator[Verified]:
    """Verify all files, several at a time, and yield what came of them in their order."""
    from vibcal_nb.running.verify.verify_files import list_files, verify_file
    from vibcal_nb.running.verify.verify_witness import verify_witness

    files = [file for path in arguments.paths for file in list_files(path)]
    with ThreadPoolExecutor(max(1, arguments.workers)) as executor:
        yield from executor.map(lambda file: verify_file(file, verifier), files)
    if verifier.witness is not None:
        yield verify_witness(verifier.witness, arguments.paths, verifier)


def _summary(counts: Counter[State | None]) -> str:
    from vibcal_nb.running.verify.states import ORDER

    others = [f"{counts[state]} {state.value}" for state in ORDER if counts[state]]
    return ", ".join([f"{counts[None]} in order", *others]) + "."


def _verifier(arguments: argparse.Namespace) -> Verifier:
    """Read whose keys count, and say which lines of the list do not, and the witness. Raises ``Refused``."""
    from vibcal_nb.records.signoff.allowed_signers import read_allowed_signers
    from vibcal_nb.records.witness.chain import read_chain, witness_path
    from vibcal_nb.running.verify.verifier import Verifier

    allowed = None if arguments.allowed_signers is None else read_allowed_signers(arguments.allowed_signers)
    for problem in allowed.problems if allowed is not None else ():
        print(on_one_line(problem), file=sys.stderr)
    witness = None if arguments.witness is None else read_chain(witness_path(arguments.witness))
    return Verifier(inputs=arguments.inputs, allowed=allowed, witness=witness)


def _missing(arguments: argparse.Namespace) -> str | None:
    from vibcal_nb.records.witness.chain import witness_path

    named = [*arguments.paths, *(path for path in (arguments.inputs, arguments.allowed_signers) if path is not None)]
    for path in named:
        if not path.exists():
            return f"{path.as_posix()}: no such file or folder; give a record or a folder of records, as run makes it."
    if arguments.witness is not None and not witness_path(arguments.witness).is_file():
        return f"{arguments.witness.as_posix()}: no such witness; give the file that run --witness wrote."
    return None


def _refusal(arguments: argparse.Namespace) -> str | None:
    missing = _missing(arguments)
    if missing is not None:
        return missing
    if arguments.sign and not (arguments.name or "").strip():
        return "A sign-off needs to know who signs: give --name."
    if arguments.sign and not is_storable(f"{arguments.name}{arguments.role}{arguments.remark}"):
        return "A sign-off is kept as UTF-8, which --name, --role or --remark is not; type it anew."
    if (arguments.key is not None or arguments.verdict) and not arguments.sign:
        return "A key is used to sign off, and --verdict says what to sign: give --sign too."
    if arguments.requirements is not None and (arguments.sign or len(arguments.paths) != 1):
        return "The versions are those of one record: give its file, and neither --sign nor a second path."
    return None


def _say(verified: Verified, arguments: argparse.Namespace) -> None:
    """Say what was found. Texts are a file's own, which may hold whatever a terminal would take for a command."""
    from vibcal_nb.running.commands.desk.check_bundle import shown_path
    from vibcal_nb.running.verify.states import State

    where, state = shown_path(verified.path, arguments), verified.state
    if state is None:
        print(on_one_line(f"✓ {where}: {'; '.join(verified.said)}"))
        return
    print(on_one_line(f"{'✗' if state is State.ALTERED else '!'} {where}: {state.value.upper()}"))
    texts = [
        finding.text if finding.state is state else f"{finding.state.value}: {finding.text}"
        for finding in sorted(verified.findings, key=lambda finding: finding.state is not state)
    ]
    more = len(texts) - _SHOWN
    texts = [*texts[:_SHOWN], *([f"... and {more} more"] if more > 0 else [])]
    texts += [f"({text})" for text in verified.said if text != "intact"]
    for text in texts:
        print(on_one_line(f"    {text}"))


def _sign_all(records: list[Path], arguments: argparse.Namespace) -> str | None:
    """Sign off records that are in order; return why not, where one remark would stand on unlike verdicts."""
    from vibcal_nb.records.review.decide import sign_off
    from vibcal_nb.records.review.duties import duty_problem
    from vibcal_nb.running.verify.sign_records import read_to_sign

    found: list[RecordToSign] = [item for path in records if (item := read_to_sign(path)) is not None]
    wanted = [item for item in found if not arguments.verdict or item.verdict in arguments.verdict]
    verdicts = Counter(item.verdict for item in wanted)
    if arguments.remark and len(verdicts) > 1:
        counts = ", ".join(f"{count} {word}" for word, count in sorted(verdicts.items()))
        return f"The remark would stand on unlike verdicts ({counts}); sign them apart, with --verdict WORD each."
    for item in wanted:
        problem = duty_problem(arguments.name.strip(), item.performed_by, _rule(item, arguments))
        if problem is not None:
            return problem
    for item in wanted:
        path = sign_off(
            item, name=arguments.name.strip(), role=arguments.role, remark=arguments.remark, key=arguments.key
        )
        how = "signed off" if arguments.key else "signed off, typed and unsigned"
        print(on_one_line(f"    {item.verdict}, {how}: {path.as_posix()}"))
    return None


def _rule(item: RecordToSign, arguments: argparse.Namespace) -> ReviewRule:
    """Who may review, as the site says whose visit the record is of; the strict rule where it is not at hand."""
    from vibcal_nb.records.review.decide import rule_of
    from vibcal_nb.running.verify.find_inputs import find_inputs

    visit = find_inputs(item.seal_said, arguments.inputs)
    return rule_of(None if visit is None else visit.parent.parent)


def _write_requirements(arguments: argparse.Namespace) -> ExitStatus:
    from vibcal_nb.records.files.plain_files import read_plain
    from vibcal_nb.records.files.whole_files import write_atomically
    from vibcal_nb.records.seal.intact import check_seal
    from vibcal_nb.records.seal.surroundings import requirements_lines

    (record,) = arguments.paths
    try:
        check = check_seal(read_plain(record))
        if check.seal is None or not check.intact:
            print(f"{record.as_posix()}: this is no record, or it was altered.", file=sys.stderr)
            return ExitStatus.REFUSED
        lines = requirements_lines(check.seal.get("environment", {}))
        write_atomically(arguments.requirements, "\n".join(lines) + "\n")
    except (OSError, Refused, ValueError) as error:
        print(in_words(error), file=sys.stderr)
        return ExitStatus.NOT_DONE
    print(f"{len(lines)} lines: {arguments.requirements.as_posix()}")
    return ExitStatus.DONE
