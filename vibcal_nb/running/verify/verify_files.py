"""Files beside the records verified: pages, sheets, results files, registers; and finding all of them in a folder."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.problems import shown
from vibcal_nb.records.files.canonical import results_bytes
from vibcal_nb.records.files.places import RESULTS_FILE, SUPERSEDED
from vibcal_nb.records.register.register import REGISTER_FILE, RegisterUnusable, check_chain, read_latest
from vibcal_nb.records.report import channel_report as sheet
from vibcal_nb.records.seal import page
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.running.fleet.results_file import SCHEMA
from vibcal_nb.running.verify.verify_record import Verified, Verifier, verify_record


def verify_path(path: Path, verifier: Verifier) -> Iterator[Verified]:
    """Verify a file, or all records, sheets, results files and the register of a folder.

    Raises ``OSError``, ``SignatureImpossible``.
    """
    if path.is_dir():
        for file in sorted(path.rglob("*")):
            if file.is_file() and not file.name.startswith(".") and _belongs(file):
                yield from verify_path(file, verifier)
    elif path.suffix == ".ipynb":
        yield verify_record(path, verifier)
    elif path.suffix == ".html":
        yield _verify_page(path)
    elif path.suffix == ".pdf":
        yield _verify_sheet(path, verifier)
    elif path.name == RESULTS_FILE:
        yield _verify_results(path)
    elif path.name == REGISTER_FILE:
        yield _verify_register(path)
    else:
        yield Verified(path=path, faults=("this is no record, page, sheet, results file or register",), said=())


def _belongs(file: Path) -> bool:
    """Whether a file of a folder is verified for itself. Pages are verified with their records; others' are let be."""
    if file.suffix == ".html":
        return not file.with_suffix(".ipynb").is_file() and b"record-seal" in file.read_bytes()
    if file.suffix == ".pdf":
        return file.parent.name in (file.stem, SUPERSEDED)
    return file.suffix == ".ipynb" or file.name in (RESULTS_FILE, REGISTER_FILE)


def _is_there(folder: Path, record: object) -> bool:
    """Whether a file names a record that lies in its folder; what it names may be anything, and anywhere."""
    try:
        place = folder / str(record)
        return place.is_file() and place.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError):  # a name that no file can have
        return False


def _seal_of_file(record: Path) -> Mapping[str, Any] | None:
    if not record.is_file():
        return None
    check = check_seal(record.read_bytes())
    return check.seal if check.intact else None


def _digest_of_file(record: Path) -> str | None:
    seal = _seal_of_file(record)
    return None if seal is None else str(seal["digest"])


def _verify_page(path: Path) -> Verified:
    data = path.read_bytes()
    seal = page.seal_in(data)
    if seal is None or not page.has_own_sum(data):
        return Verified(path=path, faults=("the page was changed, or is of no record",), said=())
    record = path.with_suffix(".ipynb")
    if not record.is_file():
        return Verified(path=path, faults=(), said=(f"whole; its record is not beside it (seal {seal})",))
    if _digest_of_file(record) != seal:
        return Verified(path=path, faults=(f"the page is not of {record.name} as it is now",), said=())
    return Verified(path=path, faults=(), said=("intact, the page of the record beside it",))


def _verify_sheet(path: Path, verifier: Verifier) -> Verified:
    data = path.read_bytes()
    seals = sheet.seals_in(data)
    if not seals or not sheet.has_own_sum(data):
        return Verified(path=path, faults=("the sheet was changed, or is of no record",), said=())
    entries = verifier.entries(path.parent.parent / RESULTS_FILE)
    folders = [path.parent, path.parent.parent] if path.parent.name == SUPERSEDED else [path.parent]
    beside = {_digest_of_file(record) for folder in folders for record in folder.glob("*.ipynb")}
    missing = [seal for seal in seals if seal not in beside]
    if missing and not any(entry.get("seal") in seals for entry in entries.values()):
        return Verified(path=path, faults=(), said=(f"whole; its {len(seals)} records are not beside it",))
    faults = tuple(f"no intact record beside it has the seal {seal[:16]}…, of which it was made" for seal in missing)
    return Verified(path=path, faults=faults, said=() if faults else (f"intact, of {len(seals)} records",))


def _verify_results(path: Path) -> Verified:
    """Entries are compared with their records there; here, the file's form and head, and that each record exists."""
    data = path.read_bytes()
    try:
        content: Any = json.loads(data.decode("utf-8"))
        entries = [(entry["record"], entry.get("seal")) for entry in content["results"]]
        faults = [] if data == results_bytes(content) else ["the file was written anew or changed"]
        faults += _head_faults(content)
    except (ValueError, KeyError, TypeError, RecursionError):
        return Verified(path=path, faults=("the file cannot be read as results",), said=())
    for record, seal in entries:
        if not _is_there(path.parent, record):
            faults.append(f"{shown(record)}: the record is not there")
            continue
        own = _seal_of_file(path.parent / str(record))
        if seal is not None and (own is None or own["digest"] != seal):
            faults.append(f"{record}: the record has another seal or is not intact")
        elif own is not None:
            faults += _foreign(content, own, str(record))
    return Verified(
        path=path, faults=tuple(faults), said=() if faults else (f"{len(entries)} entries, each with its record",)
    )


def _head_faults(content: Any) -> list[str]:
    schema = content.get("schema")
    right = type(schema) is int and schema == SCHEMA  # true is no number
    faults = [] if right else [f"its schema is {shown(schema)}, not {SCHEMA}"]
    others = sorted(set(content) - {"schema", "asset", "visit", "results"})
    return faults + [f"it holds {shown(name)}, which no results file has" for name in others]


def _foreign(content: Mapping[str, Any], seal: Mapping[str, Any], record: str) -> list[str]:
    """Say where the head of a results file names another asset or visit than a record that it lists."""
    identity = seal.get("record")
    sealed = identity if isinstance(identity, Mapping) else {}
    return [
        f"{record}: the record is of the {name} {shown(sealed.get(name))}, and the file of {shown(content.get(name))}"
        for name in ("asset", "visit")
        if sealed.get(name) != content.get(name)
    ]


def _verify_register(path: Path) -> Verified:
    try:
        faults = [problem.sentence for problem in check_chain(path)]
        latest = read_latest(path)
    except RegisterUnusable as error:
        return Verified(path=path, faults=(str(error),), said=())
    for row in latest:
        record = path.parent / str(row.record)
        if not _is_there(path.parent, row.record):
            faults.append(f"{row.record}: registered, and no longer there")
        elif row.seal_kind == "seal" and _digest_of_file(record) != row.seal:
            faults.append(f"{row.record}: not the record that was registered")
    return Verified(path=path, faults=tuple(faults), said=() if faults else (f"{len(latest)} records as registered",))
