"""Is a record's file the one that was sealed? What was changed is named by cell, output or entry."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.seal.seal import METADATA_KEY, SCHEMA, digest_of, seal_of, sum_content, sum_parts


@dataclass(frozen=True, kw_only=True)
class SealCheck:
    """What a file's seal says of it: ``faults`` in words, none where it is intact.

    ``seal`` is None where the file holds none that can be read; ``failed`` is the sentence of what went wrong
    where the file is a notebook that failed and is no record.
    """

    notebook: Any
    seal: dict[str, Any] | None
    faults: tuple[str, ...]
    failed: str | None = None

    @property
    def intact(self) -> bool:
        """Whether this is a record and every byte of it is as it was sealed."""
        return self.seal is not None and not self.faults


def check_seal(data: bytes) -> SealCheck:
    """Check the bytes of a record's file against the seal inside. Raises nothing, whatever the bytes are."""
    try:
        notebook = json.loads(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        return _unreadable(data, error.start, "a byte that is not UTF-8")
    except json.JSONDecodeError as error:
        return _unreadable(data, len(error.doc[: error.pos].encode("utf-8", "surrogatepass")), "broken JSON")
    except (ValueError, RecursionError):
        return SealCheck(notebook=None, seal=None, faults=("the file cannot be read as a notebook",))
    try:
        return _check(data, notebook)
    except (RecursionError, ValueError):
        return SealCheck(notebook=None, seal=None, faults=("the file holds what no record holds",))


def _check(data: bytes, notebook: Any) -> SealCheck:
    failed = failure_of(notebook)
    if failed is not None:
        return SealCheck(notebook=notebook, seal=None, faults=("a failed notebook, no record",), failed=failed)
    seal = seal_of(notebook)
    if seal is None:
        return SealCheck(notebook=notebook, seal=None, faults=("the file carries no seal",))
    if not (type(seal.get("schema")) is int and 1 <= seal["schema"] <= SCHEMA):
        fault = f"its seal has the schema {seal.get('schema')!r}; this version knows 1 to {SCHEMA}"
        return SealCheck(notebook=notebook, seal=seal, faults=(fault,))
    faults = list(_compare(notebook, seal))
    if not faults and data != kept_bytes(notebook):
        faults.append(f"its content is as sealed, but the file was written anew: {_place(data, notebook)}")
    return SealCheck(notebook=notebook, seal=seal, faults=tuple(faults))


def failure_of(notebook: Any) -> str | None:
    """Return the sentence of what went wrong, where a notebook is marked as failed."""
    metadata = notebook.get("metadata") if isinstance(notebook, Mapping) else None
    own = metadata.get(METADATA_KEY) if isinstance(metadata, Mapping) else None
    failed = own.get("failed") if isinstance(own, Mapping) else None
    return failed if isinstance(failed, str) else None


def _compare(notebook: Any, seal: dict[str, Any]) -> Iterator[str]:
    sealed, found = seal["parts"], sum_parts(notebook)
    changed = [name for name in {**sealed, **found} if sealed.get(name) != found.get(name)]
    if digest_of(seal) != seal["digest"]:
        if digest_of({**seal, "parts": found, "content": sum_content(notebook)}) == seal["digest"]:
            yield f"the seal's own list of sums was changed ({', '.join(changed) or 'content'}); all else is as sealed"
            return
        yield "the seal itself was changed"
    for name in changed:
        yield f"{name}: {'missing' if name not in found else 'added' if name not in sealed else 'changed'}"
    if not changed and sum_content(notebook) != seal.get("content"):
        yield "something was added or changed that is no part of a record"


def _unreadable(data: bytes, offset: int, what: str) -> SealCheck:
    """Name the line and the cell in which reading ended: ids stand before the rest of their cell."""
    before = data[:offset]
    ids = re.findall(rb'^   "id": "([^"\n]*)"', before, re.M)
    cell = f" in cell '{ids[-1].decode('utf-8', 'replace')}'" if ids else ""
    fault = f"{what}{cell}, line {before.count(10) + 1} of the file (byte {offset + 1})"
    return SealCheck(notebook=None, seal=None, faults=(fault,))


def _place(data: bytes, notebook: Any) -> str:
    """Say where the bytes first leave the kept form."""
    kept = kept_bytes(notebook)
    same = next((i for i, (a, b) in enumerate(zip(data, kept, strict=False)) if a != b), min(len(data), len(kept)))
    return f"white space or spelling differs from line {data[:same].count(10) + 1}, byte {same + 1}, on"
