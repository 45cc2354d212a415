"""Put an executed notebook in its place as a record: sealed, with its page, the one before set aside.

A record is there whole or not at all. One that is there already is never overwritten: where the new one is the
same but for times it stays, otherwise it goes to ``superseded/`` and the new one is a revision that names it and
says what changed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Any

from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.lean_imports import import_nbformat
from vibcal_nb.records.files.places import SUPERSEDED, page_path
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.records.seal.page import has_own_sum, record_page, seal_in
from vibcal_nb.records.seal.record_content import environment, now, result_of
from vibcal_nb.records.seal.seal import METADATA_KEY, make_seal
from vibcal_nb.records.seal.signoff import list_signoffs


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A record in its place: the digest of its seal and its revision."""

    seal: str
    revision: int


def keep_record(
    notebook: Any, *, record: Path, identity: Mapping[str, str], parameters: Mapping[str, Any], stamp: Mapping[str, Any]
) -> Kept:
    """Seal an executed notebook and write it and its page.

    ``identity`` names the record (asset, visit, channel, analysis, condition), ``stamp`` says what it was made
    from. Raises ``OSError``.
    """
    content = _content(notebook)
    content["metadata"][METADATA_KEY] = dict(stamp)
    earlier = check_seal(record.read_bytes()) if record.is_file() else None
    if earlier is not None and earlier.intact and earlier.seal is not None and _same(earlier.notebook, content):
        write_atomically(page_path(record), record_page(earlier.notebook))
        return Kept(seal=earlier.seal["digest"], revision=earlier.seal["revision"])
    signoffs = [] if earlier is None else list_signoffs(record)
    replaces = None if earlier is None else _set_aside(record, earlier, content)
    kept = _seal_and_write(content, record=record, identity=identity, parameters=parameters, replaces=replaces)
    for path in signoffs:  # they were given to the earlier record, and lie beside it now
        path.unlink()
        path.with_name(f"{path.name}.sig").unlink(missing_ok=True)
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
        environment=environment(),
        revision=1 if replaces is None else replaces["revision"] + 1,
        replaces=replaces,
    )
    content["metadata"][METADATA_KEY]["seal"] = seal
    data = kept_bytes(content)
    page = record_page(json.loads(data))  # of the record as it will be read
    write_atomically(record, data)
    write_atomically(page_path(record), page)
    return Kept(seal=seal["digest"], revision=seal["revision"])


def is_kept(record: Path) -> bool:
    """Whether a record is there as it was sealed, and the page beside it is the one that was made of it."""
    if not record.is_file() or not page_path(record).is_file():
        return False
    check, page = check_seal(record.read_bytes()), page_path(record).read_bytes()
    return check.intact and check.seal is not None and seal_in(page) == check.seal["digest"] and has_own_sum(page)


def _content(notebook: Any) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(import_nbformat().v4.writes_json(notebook))
    run = content["metadata"].get("papermill", {})
    for name in ("input_path", "output_path"):  # where folders lie on one machine is nobody else's business
        if isinstance(run.get(name), str):
            run[name] = PurePath(run[name]).name
    return content


def _set_aside(record: Path, earlier: SealCheck, content: Any) -> dict[str, Any]:
    """Copy the earlier record, its page and its sign-offs away; return what the new one's seal says of it."""
    seal = earlier.seal or {}
    revision = seal.get("revision") if isinstance(seal.get("revision"), int) else 1
    folder = record.parent / SUPERSEDED
    name, number = f"{record.stem}.rev{revision}", 1
    while (folder / f"{name}.ipynb").exists():  # one that is no longer intact may claim a revision that is taken
        number += 1
        name = f"{record.stem}.rev{revision}-{number}"
    write_atomically(folder / f"{name}.ipynb", record.read_bytes())
    beside = [page_path(record), *list_signoffs(record)]
    beside += [path.with_name(f"{path.name}.sig") for path in beside[1:]]
    for path in beside:
        if path.is_file():
            write_atomically(folder / path.name.replace(record.stem, name, 1), path.read_bytes())
    changed = list(_changes(earlier, content))
    return {
        "record": f"{SUPERSEDED}/{name}.ipynb",
        "seal": seal.get("digest"),
        "revision": revision,
        "changed": changed or ["outputs only"],
    }


def _changes(earlier: SealCheck, content: Any) -> Iterator[str]:
    """Say in words what the new record is made from that the earlier one was not."""
    if not earlier.intact:
        yield f"the earlier record was not intact ({'; '.join(earlier.faults)})"
        return
    old, new = (notebook["metadata"][METADATA_KEY] for notebook in (earlier.notebook, content))
    sums, before = new.get("inputs_sha256", {}), old.get("inputs_sha256", {})
    for name in sorted({**sums, **before}):
        if sums.get(name) != before.get(name):
            yield f"input {name} {'removed' if name not in sums else 'added' if name not in before else 'changed'}"
    for key, what in (("version", "software version"), ("package_sha256", "software"), ("template_sha256", "notebook")):
        if new.get(key) != old.get(key):
            yield f"{what} {old.get(key)} to {new.get(key)}" if key == "version" else f"{what} changed"
    verdicts = [result_of(notebook).get("verdict") for notebook in (earlier.notebook, content)]
    if verdicts[0] != verdicts[1]:
        yield f"verdict {verdicts[0]} to {verdicts[1]}"


def _same(earlier: Any, content: Any) -> bool:
    """Whether two records say the same, made from the same, at whatever time."""
    return _timeless(earlier) == _timeless(content)


def _timeless(notebook: Any) -> Any:
    own = {key: value for key, value in notebook["metadata"][METADATA_KEY].items() if key != "seal"}
    cells = []
    for cell in notebook["cells"]:
        metadata = {key: value for key, value in cell["metadata"].items() if key not in ("papermill", "execution")}
        injected = "injected-parameters" in metadata.get("tags", ())  # its id is new each time
        cells.append({**cell, "metadata": metadata, "id": "injected" if injected else cell.get("id")})
    return own, cells
