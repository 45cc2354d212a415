"""A visit as far as a record used it: channel, readings, equipment, and what the visit says of itself, as JSON.

Another channel's row, equipment that the visit did not use, comments and the order of keys are no part of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from vibcal_nb.model.asset import Asset, Channel
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Equipment, Readout, Reference, Shaker
from vibcal_nb.model.names import AS_FOUND, AS_LEFT
from vibcal_nb.model.readings import PendingRow, Reading, ReadingTable
from vibcal_nb.model.relay.check_rows import CheckRow
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.records.files.canonical import sum_of
from vibcal_nb.records.inputs_used.encoding import NotEncoded, decode, encode
from vibcal_nb.records.inputs_used.row_lines import OF_BLOCK, ROW, read_lines, row_lines, sum_of_rows


def state_visit(cases: Sequence[Case]) -> dict[str, Any]:
    """Return the statement of the visit that some cases of one channel are of. ``cases`` holds one or more."""
    first = cases[0]
    references = list(dict.fromkeys(item for case in cases for item in case.references))
    readouts = list(dict.fromkeys(item for case in cases for item in case.readouts))
    shakers = list(dict.fromkeys(item for case in cases for item in case.shakers))
    used = tuple(dict.fromkeys(str(item.id) for items in (references, readouts, shakers) for item in items))
    rows = {
        f"{case.test} {case.condition}": row_lines((*case.readings, *case.hot) or case.checks)
        for case in cases
        if case.readings or case.hot or case.checks
    }
    group = first.channel.group
    trail = first.visit.trail.of((first.channel.tag,) if group is None else group.channels)
    pending = {f"{case.test} {case.condition}": _state_pending(case) for case in cases if case.pending}
    return {
        "name": first.visit_name,
        "asset": {"tag": first.asset_tag, "name": first.asset_name},
        **_state_channels(cases),
        "visit": encode(replace(first.visit, equipment=used, columns={}, trail=trail)),
        "references": [encode(item) for item in references],
        "readouts": [encode(item) for item in readouts],
        **({"shakers": [encode(item) for item in shakers]} if shakers else {}),
        "table": first.table_file,
        "rows": dict(sorted(rows.items())),
        **({"pending": dict(sorted(pending.items()))} if pending else {}),
    }


def _state_channels(cases: Sequence[Case]) -> dict[str, Any]:
    """The channel as it was found and, where the visit left it otherwise and that was read, as it was left."""
    by_condition = {case.condition: case.channel for case in cases}
    plain = {condition: encode(channel) for condition, channel in by_condition.items()}
    found, left = plain.get(AS_FOUND), plain.get(AS_LEFT)
    if found is None or left is None or found == left:
        return {"channel": found or left}
    return {"channel": found, "channel_as_left": left}


def _state_pending(case: Case) -> list[dict[str, Any]]:
    rows = (encode(row) for row in case.pending)
    return [{name: value for name, value in row.items() if name not in OF_BLOCK} for row in rows]


def _read_pending(statement: Mapping[str, Any], channel: str) -> Iterator[PendingRow]:
    for key, rows in statement.get("pending", {}).items():
        test, condition = key.split(" ")
        of_block = {"channel": channel, "test": test, "condition": condition}
        yield from (decode(PendingRow, {**of_block, **row}) for row in rows)


def read_visit_statement(statement: Mapping[str, Any], path: Path) -> VisitFolder:
    """Return the visit that a statement is of, as if it had been read from ``path``. Raises ``NotEncoded``."""
    try:
        asset, rows = statement["asset"], statement["rows"]
        references = tuple(decode(Reference, item) for item in statement["references"])
        readouts = tuple(decode(Readout, item) for item in statement["readouts"])
        shakers = tuple(decode(Shaker, item) for item in statement.get("shakers", ()))
        channel = decode(Channel, statement["channel"])
        left = statement.get("channel_as_left")
        as_left = {} if left is None else {channel.tag: decode(Channel, left)}
        blocks = [(*key.split(" "), lines) for key, lines in rows.items()]
        held = [
            row
            for test, condition, lines in blocks
            for row in read_lines(lines, channel=channel.tag, test=test, condition=condition)
        ]
        return VisitFolder(
            path=path,
            asset=Asset(
                tag=asset["tag"], name=asset["name"], rotors=(), channels={channel.tag: channel}, as_left=as_left
            ),
            equipment=Equipment(references=references, readouts=readouts, shakers=shakers),
            visit=decode(Visit, statement["visit"]),
            table=ReadingTable(
                readings=tuple(row for row in held if isinstance(row, Reading)),
                file=statement["table"],
                pending=tuple(_read_pending(statement, channel.tag)),
                checks=tuple(row for row in held if isinstance(row, CheckRow)),
            ),
            references=references,
            readouts=readouts,
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise NotEncoded(f"It states no visit: {error}") from None


def parts_of(statement: Mapping[str, Any]) -> dict[str, str]:
    """Return the SHA-256 sum of each part of a visit's statement: rows by test and condition, all else by its name.

    Where in their table the rows stood is no part of it. Raises ``NotEncoded``.
    """
    try:
        parts = {name: sum_of(item) for name, item in statement.items() if name not in ("rows", "pending")}
        for key, rows in statement.get("pending", {}).items():
            parts[f"pending {key}"] = sum_of(pending_without_places(rows))
        return parts | {f"rows {key}": sum_of_rows(lines) for key, lines in statement.get("rows", {}).items()}
    except (TypeError, AttributeError) as error:
        raise NotEncoded(f"It states no visit: {error}") from None


def pending_without_places(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return rows that are not yet read, as they are stated, wherever in their table they stand."""
    return [{name: value for name, value in row.items() if name != ROW} for row in rows]


def sum_of_visit(statement: Mapping[str, Any]) -> str:
    """Return the SHA-256 sum of a visit's statement, wherever in their table its rows stood. Raises ``NotEncoded``."""
    return sum_of(parts_of(statement))
