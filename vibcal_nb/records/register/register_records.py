"""Records to register rows: one record just made, or all of a folder, from nothing but the records."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.display.writing.names import plural
from vibcal_nb.problems import in_words
from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.register.documents import REPORT, RETURN, SIGNOFF, Document, sum_of_signoff
from vibcal_nb.records.register.register import append_rows, register_path
from vibcal_nb.records.register.register_rows import RegisterRow, make_row
from vibcal_nb.records.report.channel_report import seals_in
from vibcal_nb.records.review.returned import Returned, read_return
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import seal_of
from vibcal_nb.records.signoff.kept_statement import StatementUnusable
from vibcal_nb.records.signoff.places import RETURNS, SIGNOFFS
from vibcal_nb.records.signoff.statement import Signoff, read_signoff

_REVISION = re.compile(r"\.rev(\d+)[^.]*$")


def register_record(records: Path, record: Path) -> bool:
    """Append a record to the register of its folder; return whether it was new or had changed.

    Raises ``RegisterUnusable``, ``OSError``, or ``ValueError`` where the file is no record.
    """
    return bool(append_rows(register_path(records), [read_row(records, record)]))


def list_rows(records: Path, unusable: list[str]) -> Iterator[RegisterRow]:
    """Yield the rows of all records of a folder, superseded revisions first; note in sentences what is no record."""
    for record in sorted(records.glob("*/*/**/*.ipynb"), key=lambda path: _by_revision(records, path)):
        if record.name.startswith(".") or record.name.endswith(".failed.ipynb"):
            continue
        try:
            yield read_row(records, record)
        except (ValueError, OSError) as error:
            unusable.append(f"{record.relative_to(records).as_posix()}: {in_words(error)}")


def read_row(records: Path, record: Path) -> RegisterRow:
    """Read a record and make its row. Raises ``ValueError`` with a clause where it is no record, ``OSError``."""
    content = read_plain(record)
    try:
        notebook = _read_json(content)
        entry = result_of(notebook)
        if not entry:
            raise ValueError("it holds no result, or more than one, where a record holds one")
        seal, kind = _seal(notebook, content)
        place = record.relative_to(records)
        asset, visit = (*place.parts, "", "")[:2]
        return make_row(entry, asset=asset, visit=visit, record=place.as_posix(), seal=seal, seal_kind=kind)
    except (KeyError, TypeError, AttributeError, RecursionError) as error:
        raise ValueError("this is no record of a result") from error


def _read_json(content: bytes) -> Any:
    try:
        return json.loads(content)
    except json.JSONDecodeError as error:
        raise ValueError(f"broken JSON in line {error.lineno}") from None
    except UnicodeDecodeError as error:
        raise ValueError(f"no UTF-8 from byte {error.start} on") from None


def _seal(notebook: Mapping[str, Any], content: bytes) -> tuple[str, str]:
    """The digest of the seal that the record carries; where it carries none, the sum over its file."""
    seal = seal_of(notebook)
    return (hashlib.sha256(content).hexdigest(), "file") if seal is None else (seal["digest"], "seal")


def list_documents(records: Path) -> Iterator[Document]:
    """Yield the sign-offs, returns and reports of a folder as documents; what cannot be read is left out."""
    for kind, files in ((SIGNOFF, SIGNOFFS), (RETURN, RETURNS)):
        for path in sorted(records.glob(f"*/*/**/*.{files}-*.json")):
            document = statement_document(records, path, kind)
            if document is not None:
                yield document
    for path in sorted(records.glob("*/*/**/*.pdf")):
        if is_plain(path):
            yield read_report_document(records, path)


def read_report_document(records: Path, path: Path) -> Document:
    """Return a report as a document. Raises ``OSError``."""
    data = read_plain(path)
    seals = seals_in(data)
    said = f"of {plural(len(seals), 'record')}"
    digest = hashlib.sha256(data).hexdigest()
    return Document(kind=REPORT, place=_place(records, path), seal=" ".join(seals), sha256=digest, said=said)


_READ: Mapping[str, Callable[[Path], Signoff | Returned]] = {SIGNOFF: read_signoff, RETURN: read_return}


def statement_document(records: Path, path: Path, kind: str) -> Document | None:
    """Return a sign-off or a return, as ``kind`` says, as a document; None where it cannot be read."""
    try:
        found = _READ[kind](path)
        digest = sum_of_signoff(path)
    except (StatementUnusable, OSError):
        return None
    return Document(kind=kind, place=_place(records, path), seal=found.seal, sha256=digest, said=found.who)


def register_statement(records: Path, path: Path, kind: str) -> None:
    """Enter a sign-off or a return into the register of its folder. Raises ``RegisterUnusable``."""
    document = statement_document(records, path, kind)
    append_rows(register_path(records), [], [] if document is None else [document])


def _place(records: Path, path: Path) -> str:
    return path.relative_to(records).as_posix()


def _by_revision(records: Path, record: Path) -> tuple[Any, ...]:
    """Sort key: the place of the record that it is or was, superseded revisions before the one that holds."""
    superseded = record.parent.name == SUPERSEDED
    folder = record.parent.parent if superseded else record.parent
    revision = _REVISION.search(record.stem)
    if not superseded or revision is None:
        return folder.relative_to(records).parts, record.stem, True, 0, record.name
    return folder.relative_to(records).parts, record.stem[: revision.start()], False, int(revision[1]), record.name
