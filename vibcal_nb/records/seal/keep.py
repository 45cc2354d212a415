"""Put an executed notebook in its place as a record: sealed, with its page, the one before set aside.

A record is there whole or not at all. One that is there already is never overwritten: where the new one is the
same but for times it stays, otherwise it goes to ``superseded/`` and the new one is a revision that names it and
says what changed. Whatever interrupts this, `mend` brings it to its end.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Any

from vibcal_nb.problems import NotDone
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.lean_imports import import_nbformat
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import remove, write_atomically
from vibcal_nb.records.inputs_used.record_inputs import sum_of_inputs
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.mend import mend
from vibcal_nb.records.seal.page import record_page
from vibcal_nb.records.seal.record_content import inputs_of, now
from vibcal_nb.records.seal.revision import describe_earlier, word_signed
from vibcal_nb.records.seal.seal import METADATA_KEY, make_seal
from vibcal_nb.records.seal.set_aside import set_aside
from vibcal_nb.records.seal.sources import is_injected
from vibcal_nb.records.seal.surroundings import surroundings
from vibcal_nb.records.signoff.places import list_signoffs, signature_path

NOT_COMPARED = ("seal", "like_sha256")
"""What of a record's own metadata may differ between two records that say the same."""


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A record in its place: the digest of its seal, its revision, where the one that it replaced was set aside."""

    seal: str
    revision: int
    replaced: Path | None = None


class RecordIsSigned(NotDone):
    """A record that somebody signed off would be superseded, and that was not asked for; the text is one clause."""


def keep_record(
    notebook: Any,
    *,
    record: Path,
    identity: Mapping[str, str],
    parameters: Mapping[str, Any],
    stamp: Mapping[str, Any],
    supersede_signed: bool = False,
) -> Kept:
    """Seal an executed notebook and write it and its page.

    ``identity`` names the record (asset, visit, channel, analysis, condition), ``stamp`` says what it was made
    with; what it was made from, the notebook states itself. Raises ``RecordIsSigned`` where the one before was
    signed off, says something else, and is not to be superseded, ``OSError``.
    """
    content = _content(notebook)
    stated = inputs_of(content)
    inputs = {"inputs_sha256": sum_of_inputs(stated)} if stated else {}
    content["metadata"][METADATA_KEY] = {**stamp, **inputs}
    mend(record)
    earlier = check_seal(read_plain(record)) if is_plain(record) else None
    if earlier is not None and earlier.intact and earlier.seal is not None and _same(earlier.notebook, content):
        return Kept(seal=earlier.seal["digest"], revision=earlier.seal["revision"])
    if earlier is None:
        return _seal_and_write(content, record=record, identity=identity, parameters=parameters, replaces=None)
    replaces = describe_earlier(record, earlier, content)
    signoffs = list_signoffs(record)
    if signoffs and not supersede_signed:
        raise RecordIsSigned(f"{word_signed(replaces)}; give --supersede-signed to make a new revision")
    copy = set_aside(record, revision=replaces["revision"])
    replaces = {"record": copy.relative_to(record.parent).as_posix(), **replaces}
    kept = _seal_and_write(content, record=record, identity=identity, parameters=parameters, replaces=replaces)
    for path in signoffs:  # they were given to the earlier record, and lie beside it now
        remove(path)
        remove(signature_path(path))
    return kept


def keep_latest(notebook: Any, *, record: Path, identity: Mapping[str, str], parameters: Mapping[str, Any]) -> Kept:
    """Seal a notebook that can be executed anew at any time, and write it and its page in place of the one before.

    Raises ``OSError``.
    """
    content = _content(notebook)
    content["metadata"][METADATA_KEY] = {}
    return _seal_and_write(content, record=record, identity=identity, parameters=parameters, replaces=None)


def _seal_and_write(
    content: dict[str, Any],
    *,
    record: Path,
    identity: Mapping[str, str],
    parameters: Mapping[str, Any],
    replaces: Mapping[str, Any] | None,
) -> Kept:
    """Put the seal into the content, and write record and page: the record first, since a page alone shows less."""
    seal = make_seal(
        content,
        record=dict(identity),
        made=now(),
        parameters=dict(parameters),
        environment=surroundings(),
        revision=1 if replaces is None else replaces["revision"] + 1,
        replaces=replaces,
    )
    content["metadata"][METADATA_KEY]["seal"] = seal
    data = kept_bytes(content)
    page = record_page(json.loads(data))  # of the record as it will be read
    write_atomically(record, data)
    write_atomically(page_path(record), page)
    replaced = None if replaces is None else record.parent / replaces["record"]
    return Kept(seal=seal["digest"], revision=seal["revision"], replaced=replaced)


def _content(notebook: Any) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(import_nbformat().v4.writes_json(notebook))
    run = content["metadata"].get("papermill", {})
    for name in ("input_path", "output_path"):  # where folders lie on one machine is nobody else's business
        if isinstance(run.get(name), str):
            run[name] = PurePath(run[name]).name
    return content


def _same(earlier: Any, content: Any) -> bool:
    """Whether two records say the same, made from the same, at whatever time."""
    return bool(timeless(earlier) == timeless(content))


def timeless(notebook: Any) -> Any:
    """Return what of a record is the same whenever it is made: its own metadata, and its cells without times."""
    own = {key: value for key, value in notebook["metadata"][METADATA_KEY].items() if key not in NOT_COMPARED}
    return own, [_timeless_cell(cell) for cell in notebook["cells"]]


def _timeless_cell(cell: Any) -> dict[str, Any]:
    metadata = {key: value for key, value in cell["metadata"].items() if key not in ("papermill", "execution")}
    return {**cell, "metadata": metadata, "id": "injected" if is_injected(cell) else cell.get("id")}  # new each time
