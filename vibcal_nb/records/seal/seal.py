"""The seal of a record: SHA-256 sums of every part of the notebook, and one digest over them all.

A part is what a sentence can name: the source of a cell, one kind of one output, an entry of the metadata. The
digest stands in the notebook, in its page, in the channel's sheet and in ``results.json``; whoever keeps one of
these can tell later whether the record is the one that was sealed, and where it is not. The seal shows changes;
who vouches for the content is told by a signature (`records/seal/signoff.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vibcal_nb.records.files.canonical import sum_of

METADATA_KEY = "vibcal_nb"
SCHEMA = 2
"""1 stated the sums of whole input files; 2 states the inputs themselves, as far as they were used."""


def make_seal(notebook: Mapping[str, Any], **statements: Any) -> dict[str, Any]:
    """Make the seal of a notebook that carries none yet.

    ``notebook`` is JSON content as a file holds it; ``statements`` are what the seal says besides, as JSON
    (parameters, environment, revision). Any seal already in the notebook is left out of the sums.
    """
    sums = {"content": sum_content(notebook), "parts": sum_parts(notebook)}
    seal = {"schema": SCHEMA, "algorithm": "SHA-256", **statements, **sums}
    return {**seal, "digest": digest_of(seal)}


def digest_of(seal: Mapping[str, Any]) -> str:
    """Return the digest of a seal: the sum over all it says except the digest itself."""
    return sum_of({name: value for name, value in seal.items() if name != "digest"})


def seal_of(notebook: Any) -> dict[str, Any] | None:
    """Return the seal that a notebook carries; None where it carries nothing that can be one."""
    metadata = notebook.get("metadata") if isinstance(notebook, Mapping) else None
    own = metadata.get(METADATA_KEY) if isinstance(metadata, Mapping) else None
    seal = own.get("seal") if isinstance(own, Mapping) else None
    if not isinstance(seal, Mapping) or not isinstance(seal.get("parts"), Mapping):
        return None
    return dict(seal) if isinstance(seal.get("digest"), str) else None


def sum_content(notebook: Any) -> str:
    """Return the sum over all of a notebook but its seal, whatever its parts are called."""
    if isinstance(notebook, Mapping):
        metadata = notebook.get("metadata")
        own = metadata.get(METADATA_KEY) if isinstance(metadata, Mapping) else None
        if isinstance(metadata, Mapping) and isinstance(own, Mapping):
            own = {key: value for key, value in own.items() if key != "seal"}
            notebook = {**notebook, "metadata": {**metadata, METADATA_KEY: own}}
    return sum_of(notebook)


def sum_parts(notebook: Any) -> dict[str, str]:
    """Return the sum of each part of a notebook under the part's name, for telling what was changed.

    Every value of the content except the seal belongs to a part. Never raises on content read from JSON.
    """
    if not isinstance(notebook, Mapping):
        return {"the whole record": sum_of(notebook)}
    parts = dict(_metadata_parts(notebook.get("metadata")))
    cells = notebook.get("cells")
    if isinstance(cells, list):
        names = cell_names(cells)
        parts["the order of the cells"] = sum_of(names)
        for name, cell in zip(names, cells, strict=True):
            parts |= dict(_cell_parts(name, cell))
    else:
        parts["the list of cells"] = sum_of(cells)
    rest = {key: value for key, value in notebook.items() if key not in ("cells", "metadata")}
    return {**parts, "the notebook's own format": sum_of([rest, sorted(notebook)])}


def cell_names(cells: list[Any]) -> list[str]:
    """Name each cell by its id; cells without one, or with one that is taken, by their number as well."""
    names: dict[str, None] = {}  # in order, and looked up fast among a million
    for number, cell in enumerate(cells, start=1):
        name = str(cell.get("id")) if isinstance(cell, Mapping) else "?"
        while name in names:
            name = f"{name}, number {number}"
        names[name] = None
    return list(names)


def _metadata_parts(metadata: Any) -> Iterator[tuple[str, str]]:
    if not isinstance(metadata, Mapping):
        yield "the record's metadata", sum_of(metadata)
        return
    for key, value in metadata.items():
        if key == METADATA_KEY and isinstance(value, Mapping):
            for own, statement in value.items():
                if own != "seal":
                    yield f"metadata {key}, {own}", sum_of(statement)
        else:
            yield f"metadata {key}", sum_of(value)


def _cell_parts(name: str, cell: Any) -> Iterator[tuple[str, str]]:
    if not isinstance(cell, Mapping):
        yield f"cell '{name}'", sum_of(cell)
        return
    yield f"cell '{name}', source", sum_of(cell.get("source"))
    outputs = cell.get("outputs")
    if isinstance(outputs, list):
        for number, output in enumerate(outputs, start=1):
            yield from _output_parts(f"cell '{name}', output {number}", output)
    rest = {key: value for key, value in cell.items() if key not in ("source", "outputs")}
    shape = outputs if not isinstance(outputs, list) else len(outputs)
    yield f"cell '{name}', kind and metadata", sum_of([rest, shape, sorted(cell)])


def _output_parts(name: str, output: Any) -> Iterator[tuple[str, str]]:
    data = output.get("data") if isinstance(output, Mapping) else None
    if not isinstance(data, Mapping):
        yield name, sum_of(output)
        return
    for kind, value in data.items():
        yield f"{name}, {kind}", sum_of(value)
    yield f"{name}, its frame", sum_of({key: value for key, value in output.items() if key != "data"})
