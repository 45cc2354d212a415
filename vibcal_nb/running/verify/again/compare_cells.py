"""A record held against the same performed again: every cell, output, table, text and figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import zip_longest
from typing import Any

from vibcal_nb.records.inputs_used.record_inputs import MIME_TYPE as INPUTS_TYPE
from vibcal_nb.records.perform.differences import LAST_DIGIT, SAME_WITHIN, list_differences
from vibcal_nb.records.seal.record_content import MIME_TYPE as RESULT_TYPE
from vibcal_nb.records.seal.seal import METADATA_KEY, cell_names
from vibcal_nb.records.seal.sources import is_injected, joined
from vibcal_nb.running.verify.again.compare_shown import same_shown

_OF_A_RUN = ("papermill", "execution")
_MADE_WITH = "Made with"
_SHOWN = 10


def compare_notebooks(record: Mapping[str, Any], again: Mapping[str, Any], *, exact: bool) -> Iterator[str]:
    """Yield in words what differs. ``exact``: the same software in the same surroundings, where nothing may.

    Else numbers may differ in digits that platforms do not promise, figures in all but the numbers that they draw,
    and what is said of the software.
    """
    yield from _compare_metadata(record["metadata"], again["metadata"], exact=exact)
    ours, theirs = record["cells"], again["cells"]
    for name, cell, other in zip_longest(cell_names(ours), ours, theirs):
        if cell is None or other is None:
            yield f"cell '{name or other.get('id')}': {'missing' if cell is None else 'added'}"
        else:
            yield from (f"cell '{name}', {said}" for said in _compare_cell(cell, other, exact=exact))
    for key in ("nbformat", "nbformat_minor"):
        if record.get(key) != again.get(key) and exact:
            yield f"the notebook's own format, {key}"
    odd = set(record) - {"cells", "metadata", "nbformat", "nbformat_minor"}
    yield from (f"'{name}', which no record has" for name in sorted(odd))


def _compare_metadata(ours: Mapping[str, Any], theirs: Mapping[str, Any], *, exact: bool) -> Iterator[str]:
    left_out = {METADATA_KEY, "papermill"} | (set() if exact else {"language_info"})
    for key in sorted({*ours, *theirs} - left_out):
        if ours.get(key) != theirs.get(key):
            yield f"metadata {key}: {_short(ours.get(key))} in the record, {_short(theirs.get(key))} computed"
    stated = ours.get("papermill")
    parameters = stated.get("parameters") if isinstance(stated, Mapping) else None
    if parameters != theirs["papermill"]["parameters"]:
        yield "metadata papermill: other parameters than it was made with"


def _compare_cell(ours: Mapping[str, Any], theirs: Mapping[str, Any], *, exact: bool) -> Iterator[str]:
    if joined(ours.get("source")) != joined(theirs.get("source")):
        yield "source: not what the package's own notebook has"
    for key in sorted({*ours, *theirs} - {"source", "outputs", "metadata", "id"}):
        if ours.get(key) != theirs.get(key):
            yield f"{key}: {_short(ours.get(key))} in the record, {_short(theirs.get(key))} computed"
    metadata, expected = (_lasting(cell.get("metadata")) for cell in (ours, theirs))
    if metadata != expected or (ours.get("id") != theirs.get("id") and not is_injected(theirs)):
        yield "id or metadata: not what the package's own notebook has"
    outputs, computed = ours.get("outputs", []), theirs.get("outputs", [])
    for number, pair in enumerate(zip_longest(outputs, computed), start=1):
        yield from (f"output {number}{said}" for said in _compare_output(*pair, exact=exact))


def _lasting(metadata: Any) -> Any:
    if not isinstance(metadata, Mapping):
        return metadata
    return {key: value for key, value in metadata.items() if key not in _OF_A_RUN}


def _compare_output(ours: Any, theirs: Any, *, exact: bool) -> Iterator[str]:
    if ours is None or theirs is None:
        yield f": {'missing' if ours is None else 'added'}"
        return
    if ours == theirs:
        return
    data, computed = (output.get("data", {}) if isinstance(output, Mapping) else {} for output in (ours, theirs))
    if not exact and joined(computed.get("text/plain", "")).startswith(_MADE_WITH):
        return
    rest, expected = ({k: v for k, v in output.items() if k != "data"} for output in (ours, theirs))
    if rest != expected:
        yield ", its frame: not as computed"
    for kind in {**data, **computed}:
        if data.get(kind) != computed.get(kind):
            yield from (f", {kind}: {said}" for said in _compare_data(kind, data.get(kind), computed.get(kind), exact))


def _compare_data(kind: str, ours: Any, theirs: Any, exact: bool) -> Iterator[str]:
    if ours is None or theirs is None:
        yield "missing" if ours is None else "added"
    elif kind == RESULT_TYPE:
        differences = list_differences(ours, theirs, within=LAST_DIGIT if exact else SAME_WITHIN)
        yield from differences[:_SHOWN]
        if len(differences) > _SHOWN:
            yield f"{len(differences) - _SHOWN} more differences"
    elif kind == INPUTS_TYPE or exact or not same_shown(kind, ours, theirs):
        yield from _first_difference(joined(ours), joined(theirs))


def _first_difference(ours: str, theirs: str) -> Iterator[str]:
    """Show where two texts part, with as much of both as a line holds."""
    same = next((i for i, (a, b) in enumerate(zip(ours, theirs, strict=False)) if a != b), min(len(ours), len(theirs)))
    start = max(0, same - 20)
    yield f"{_short(ours[start : same + 40])} in the record, {_short(theirs[start : same + 40])} computed"


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 80 else text[:77] + "..."
