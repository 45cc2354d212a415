"""Files beside the records verified: pages, reports, results files, registers; and finding all of them in a folder."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from vibcal_nb.problems import in_words, shown
from vibcal_nb.records.files.canonical import results_bytes
from vibcal_nb.records.files.places import RESULTS_FILE, SUPERSEDED, path_name
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.register.register import REGISTER_FILE
from vibcal_nb.records.seal import page
from vibcal_nb.running.fleet.results_file import SCHEMA
from vibcal_nb.running.verify.states import Finding, State, Verified, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_certificate import is_certificate, verify_certificate
from vibcal_nb.running.verify.verify_overview import is_overview, verify_overview
from vibcal_nb.running.verify.verify_record import verify_record
from vibcal_nb.running.verify.verify_register import verify_register
from vibcal_nb.running.verify.verify_report import verify_report


def list_files(path: Path) -> Iterator[Path]:
    """Yield a file, or the records, pages without one, reports, results files and the register of a folder.

    A link out of the folder is not followed, and what is no ordinary file is passed over.
    """
    if not path.is_dir():
        yield path
        return
    for folder, folders, files in os.walk(path):
        folders.sort()
        for name in sorted(files):
            file = Path(folder) / name
            if not name.startswith(".") and is_plain(file) and _belongs(file):
                yield file


def _belongs(file: Path) -> bool:
    """Whether a file of a folder is verified for itself. Pages are verified with their records; others' are let be."""
    if file.suffix == ".html":
        return not is_plain(file.with_suffix(".ipynb")) and b"record-seal" in read_plain(file)
    if file.suffix == ".pdf":
        return file.parent.name in (file.stem, SUPERSEDED)
    if is_certificate(file):
        return True
    return file.suffix == ".ipynb" or file.name in (RESULTS_FILE, REGISTER_FILE)


def verify_file(path: Path, verifier: Verifier) -> Verified:
    """Verify one file; one that cannot be read is told, and stops nothing. Raises ``SignatureImpossible``."""
    try:
        return _verify(path, verifier)
    except OSError as error:
        return Verified(path=path, findings=(Finding(state=State.UNREADABLE, text=in_words(error)),))


def verify_path(path: Path, verifier: Verifier) -> Iterator[Verified]:
    """Verify a file, or all that belongs to records in a folder. Raises ``SignatureImpossible``."""
    for file in list_files(path):
        yield verify_file(file, verifier)


def _verify(path: Path, verifier: Verifier) -> Verified:
    if path.suffix == ".ipynb":
        return verify_overview(path, verifier) if is_overview(path) else verify_record(path, verifier)
    for belongs, verify in _KINDS:
        if belongs(path):
            return verify(path, verifier)
    return Verified(path=path, findings=(altered("this is no record, page, report, results file or register"),))


def _verify_page(path: Path, verifier: Verifier) -> Verified:
    data = read_plain(path)
    seal = page.seal_in(data)
    if seal is None or not page.has_own_sum(data):
        return Verified(path=path, findings=(altered("the page was changed, or is of no record"),))
    record = path.with_suffix(".ipynb")
    if not is_plain(record):
        text = f"whole, and its record (seal {seal}) is not beside it: what it shows was compared with nothing"
        return Verified(path=path, findings=(Finding(state=State.NOT_PERFORMED, text=text),))
    if verifier.digest(record) != seal:
        return Verified(path=path, findings=(altered(f"the page is not of {record.name} as it is now"),))
    return Verified(path=path, said=("the page of the record beside it; verify the record to compare what it shows",))


def _verify_results(path: Path, verifier: Verifier) -> Verified:
    """Entries are compared with their records there; here, the file's form and head, and that each record exists."""
    data = read_plain(path)
    try:
        content: Any = json.loads(data.decode("utf-8"))
        entries = [(entry["record"], entry.get("seal")) for entry in content["results"]]
        findings = [] if data == results_bytes(content) else [altered("the file was written anew or changed")]
        findings += _head_findings(content, path.absolute().parent)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return Verified(path=path, findings=(altered("the file cannot be read as results"),))
    for record, seal in entries:
        findings += _entry_findings(path.parent, record, seal, verifier)
    twice = len(entries) - len({str(record) for record, _ in entries})
    if twice:
        findings.append(altered("it holds more than one entry of one record"))
    said = () if findings else (f"{len(entries)} entries, each with its record",)
    return Verified(path=path, findings=tuple(findings), said=said)


def _entry_findings(folder: Path, record: object, seal: object, verifier: Verifier) -> Iterator[Finding]:
    if not is_within(folder, record):
        yield altered(f"{shown(record)}: the record is not there")
    elif seal is not None and verifier.digest((folder / str(record)).absolute()) != seal:
        yield from _seal_findings(folder / str(record), str(record), seal, verifier)


def _seal_findings(file: Path, record: str, seal: object, verifier: Verifier) -> Iterator[Finding]:
    """A run that was stopped leaves a record without its entry; anything else was altered."""
    half = verifier.replaced_by(file.absolute()) == seal
    if half:
        yield incomplete(f"{record}: the entry is of the revision before")
    else:
        yield altered(f"{record}: the record has another seal or is not intact")


def is_within(folder: Path, record: object) -> bool:
    """Whether a file names a record that lies in its folder; what it names may be anything, and anywhere."""
    try:
        place = folder / str(record)
        return is_plain(place) and place.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError):  # a name that no file can have
        return False


def _head_findings(content: Any, folder: Path) -> Iterator[Finding]:
    schema = content.get("schema")
    if type(schema) is not int or schema != SCHEMA:  # true is no number
        yield altered(f"its schema is {shown(schema)}, not {SCHEMA}")
    for name in sorted(set(content) - {"schema", "asset", "visit", "results"}):
        yield altered(f"it holds {shown(name)}, which no results file has")
    for name, home in (("visit", folder.name), ("asset", folder.parent.name)):
        if not isinstance(content.get(name), str) or path_name(content[name]) != home:
            yield altered(f"it is of the {name} {shown(content.get(name))}, and lies in the folder {shown(home)}")


_KINDS: tuple[tuple[Callable[[Path], bool], Callable[[Path, Verifier], Verified]], ...] = (
    (lambda path: path.suffix == ".html", _verify_page),
    (lambda path: path.suffix == ".pdf", verify_report),
    (is_certificate, verify_certificate),
    (lambda path: path.name == RESULTS_FILE, _verify_results),
    (lambda path: path.name == REGISTER_FILE, verify_register),
)
