"""What two records of other visits, conditions or channels were made from: their readings are others by nature.

Row by row they would all be listed as changed. So a block of rows is named once, with how many it holds on either side;
what was made of each reading stands among the numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.records.inputs_used.encoding import NotEncoded
from vibcal_nb.records.inputs_used.row_lines import ROW, rows_in
from vibcal_nb.records.seal.revision import statement_changes

Statement = Mapping[str, Any]


def changes_of_inputs(before: Statement, now: Statement, *, same: bool, conditions: tuple[str, str]) -> list[str]:
    """List in words what two statements of inputs differ in; the own visit of both counts as one, whatever its name.

    ``same`` says whether the records are of the same channel, visit and condition: then rows are compared one by one.
    ``conditions`` are those of the two records.
    """
    if not before.get("visits") or not now.get("visits"):
        return statement_changes(before, now)
    old, new = dict(before["visits"][0]), {**now["visits"][0], "name": before["visits"][0]["name"]}
    said: list[str] = []
    if not same:
        held, read = (side.pop("rows", None) or {} for side in (old, new))
        read = {_like_before(block, held, conditions): rows for block, rows in read.items()}
        said = [text for block in {**held, **read} for text in _block(block, held.get(block), read.get(block))]
    pair = ({**side, "visits": [own, *side["visits"][1:]]} for side, own in ((before, old), (now, new)))
    return [*said, *statement_changes(*pair)]


def _like_before(block: str, held: Mapping[str, Any], conditions: tuple[str, str]) -> str:
    """Name a block of the later record as the earlier has it, where they differ in their condition alone."""
    as_before = block.removesuffix(conditions[1]) + conditions[0]
    return as_before if block not in held and block.endswith(conditions[1]) else block


def _block(block: str, old: Sequence[str] | None, new: Sequence[str] | None) -> Iterator[str]:
    test = spoken(block.rpartition(" ")[0])
    try:
        before, after = (rows_in(lines) if lines else [] for lines in (old, new))
    except NotEncoded:
        yield f"{test}: its rows are in a form that cannot be read"
        return
    if [_typed(row) for row in before] == [_typed(row) for row in after]:
        yield f"{test}: {plural(len(before), 'row')}, typed alike in both"
        return
    yield f"{test}: {_counted(before)} before, {_counted(after)} after, held side by side in their order"


def _typed(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in row.items() if name != ROW and value is not None}


def _counted(rows: Sequence[Mapping[str, Any]]) -> str:
    numbers = [row[ROW] for row in rows if isinstance(row.get(ROW), int)]
    where = f" ({min(numbers)} to {max(numbers)})" if numbers else ""
    return f"{plural(len(rows), 'row')}{where}" if rows else "no row"
