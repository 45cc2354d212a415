"""`certificate`: a channel's visit as a Digital Calibration Certificate, which a machine reads."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import say


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "records", metavar="RECORD", type=Path, nargs="+", help="records, or folders of them: a channel's, a visit's"
    )
    parser.add_argument("--site", type=Path, metavar="FOLDER", help="the site's folder, with site.toml")
    parser.add_argument("--out", type=Path, metavar="FOLDER", help="write there (default: beside the records)")
    parser.add_argument("--no-report", action="store_true", help="attach no PDF")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Write one certificate for each channel and visit, and list what nobody stated."""
    from vibcal_nb.problems import Refused, in_words
    from vibcal_nb.records.certificate.certificate_facts import CertificateNotMade
    from vibcal_nb.records.files.places import no_record_in

    groups = list(_groups(arguments.records))
    if not groups:
        print(no_record_in(arguments.records), file=sys.stderr)
        return ExitStatus.REFUSED
    status = ExitStatus.DONE
    missing: dict[str, int] = {}
    for paths in groups:
        try:
            for sentence in _write(paths, arguments):
                missing[sentence] = missing.get(sentence, 0) + 1
        except CertificateNotMade as error:
            print(error, file=sys.stderr)
            status = ExitStatus.NOT_DONE
        except (Refused, OSError) as error:
            print(in_words(error), file=sys.stderr)
            status = ExitStatus.NOT_DONE
    if missing:
        say("Not recorded, and so not stated:")
    for sentence, count in missing.items():
        say(f"  {sentence}{f' ({count} certificates)' if count > 1 else ''}")
    return status


def _groups(records: list[Path]) -> Iterator[list[Path]]:
    """The records of one channel's visit at a time; a folder stands for all channels below it."""
    from vibcal_nb.records.files.places import SUPERSEDED, require_place

    folders: dict[Path, list[Path]] = {}
    for path in records:
        require_place(path)
        found = sorted(path.rglob("*.ipynb")) if path.is_dir() else [path]
        for record in found:
            below = record.relative_to(path).parts if path.is_dir() else ()
            hidden = any(part.startswith(".") for part in below)
            if record.parent.name != SUPERSEDED and not hidden and record.name != "site_overview.ipynb":
                folders.setdefault(record.parent, []).append(record)
    yield from folders.values()


def _write(paths: list[Path], arguments: argparse.Namespace) -> tuple[str, ...]:
    from vibcal_nb.inputs.read_site_facts import read_site_facts
    from vibcal_nb.records.certificate.certificate_facts import gather_facts
    from vibcal_nb.records.certificate.write_certificate import certificate_path, sheet_of, write_certificate

    site = arguments.site or _site_of(paths[0])
    facts = gather_facts(paths, read_site_facts(site))
    path = certificate_path(paths[0])
    if arguments.out is not None:
        identity = facts.identity
        path = arguments.out / f"{identity['asset']} {identity['visit']} {path.name}"
    sheet = None if arguments.no_report else sheet_of(facts, paths)
    written = write_certificate(facts, path, today=date.today(), sheet=sheet)
    say(f"{written.path.as_posix()}: {'written' if written.new else 'stands already, made of the same records'}")
    if written.aside is not None:
        say(f"  the one before it is kept: {written.aside.as_posix()}")
    return facts.missing


def _site_of(record: Path) -> Path:
    """The site whose visit a record was made from, where it is at hand; else a folder that states nothing."""
    from vibcal_nb.records.files.plain_files import read_plain
    from vibcal_nb.records.seal.intact import check_seal
    from vibcal_nb.running.verify.find_inputs import find_inputs

    check = check_seal(read_plain(record))
    visit = find_inputs(check.seal or {}, None)
    return record.parent if visit is None else visit.parent.parent
