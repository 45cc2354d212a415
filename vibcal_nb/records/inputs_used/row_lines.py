"""Readings as lines of text, and back: one line a reading, so that what changed in a record is seen line by line.

The first line names the columns, the others hold a reading each, all as JSON lists. The row's number comes first: it
says where the reading stood in its table, and is no part of what was read.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterable, Sequence
from typing import Any

from vibcal_nb.model.readings import Reading
from vibcal_nb.model.relay.check_rows import ROW_OF, CheckRow
from vibcal_nb.records.inputs_used.encoding import NotEncoded, decode
from vibcal_nb.units import Unit

ROW = "row"
OF_BLOCK = ("channel", "test", "condition")
"""What all readings of a block share, and no line repeats."""

Row = Reading | CheckRow


def row_lines(readings: Sequence[Row]) -> list[str]:
    """Return the rows of one channel, test and condition as lines, in their order, after the line of columns.

    ``readings`` holds one or more, of one kind.
    """
    fields = (field for field in dataclasses.fields(readings[0]) if field.name not in OF_BLOCK)
    columns = [field.name for field in fields if _is_stated(field, readings)]
    return [_json(columns), *(_json([_plain(getattr(reading, name)) for name in columns]) for reading in readings)]


def _is_stated(field: dataclasses.Field[Any], readings: Iterable[Row]) -> bool:
    if field.default is dataclasses.MISSING:
        return True
    return any(getattr(reading, field.name) != field.default for reading in readings)


def _plain(value: Any) -> Any:
    return value.text if isinstance(value, Unit) else value


def _json(values: list[Any]) -> str:
    return json.dumps(values, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def read_lines(lines: Sequence[str], *, test: str, **of_block: str) -> tuple[Row, ...]:
    """Return the rows that lines hold; ``test`` and ``of_block`` is what they share. Raises ``NotEncoded``."""
    kind = ROW_OF.get(test, Reading)
    return tuple(decode(kind, {**of_block, "test": test, **row}) for row in rows_in(lines))


def rows_in(lines: Sequence[str]) -> list[dict[str, Any]]:
    """Return the rows that lines hold, each by column, what is not stated left out. Raises ``NotEncoded``."""
    try:
        columns, *rows = (json.loads(line) for line in lines)
        return [dict(zip(columns, row, strict=True)) for row in rows]
    except (ValueError, TypeError, RecursionError) as error:
        raise NotEncoded(f"Its rows are none: {error}") from None


def sum_of_rows(lines: Sequence[str]) -> str:
    """Return the SHA-256 sum of what lines say, wherever in their table the rows stood."""
    digest = hashlib.sha256()
    for line in lines:  # what follows the first comma is what follows the row's number, or its heading
        digest.update(line.partition(",")[2].encode("utf-8", "surrogatepass") + b"\n")
    return digest.hexdigest()
