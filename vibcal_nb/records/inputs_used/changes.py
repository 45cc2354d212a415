"""What changed between two statements of what a record was made from: row by row, from what to what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice, zip_longest
from typing import Any

from vibcal_nb.display.writing.names import plural
from vibcal_nb.records.inputs_used.row_changes import row_changes
from vibcal_nb.records.inputs_used.visit_statement import parts_of, pending_without_places

MOST = 200
"""Changes that are worded; how many more there are is said."""

_EQUIPMENT = {"references": "certificate of", "readouts": "certificate of", "shakers": "shaker"}
_HEADS = {
    "asset": "asset",
    "channel": "limits of the channel",
    "channel_as_left": "limits of the channel as it was left",
    "visit": "visit.toml",
    "table": "table",
}


def list_changes(before: Mapping[str, Any], now: Mapping[str, Any], *, most: int = MOST) -> list[str]:
    """List in words what ``now`` states otherwise than ``before``; where rows stood in their table is no change.

    Raises ``NotEncoded``, or what JSON of another form raises: ``KeyError``, ``TypeError``, ``AttributeError``.
    """
    found = _changes(before, now)
    listed = list(islice(found, most))
    more = sum(1 for _ in found)
    return [*listed, f"and {plural(more, 'more change')}"] if more else listed


def _changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    old, new = ({visit["name"]: visit for visit in statement["visits"]} for statement in (before, now))
    own = before["visits"][0]["name"]
    for name in {**old, **new}:
        where = "" if name == own else f"visit {name}: "
        if name not in new or name not in old:
            yield f"visit {name} {'is used no longer' if name not in new else 'is used, too'}"
        else:
            yield from (f"{where}{said}" for said in _visit_changes(old[name], new[name]))
    yield from _like_changes(before.get("like", {}), now.get("like", {}))


def _visit_changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    sums, sums_now = parts_of(old), parts_of(new)
    if "problem" in old or "problem" in new:
        if sums != sums_now:
            yield f"{_readable(old)}, and now {_readable(new)}"
        return
    changed = [part for part in {**sums, **sums_now} if sums.get(part) != sums_now.get(part)]
    for part in changed:
        if part.startswith("rows "):
            key = part.removeprefix("rows ")
            yield from row_changes(old["rows"].get(key, ()), new["rows"].get(key, ()), block=key)
        elif part.startswith("pending "):
            key = part.removeprefix("pending ")
            yield from _pending_changes(old.get("pending", {}).get(key, []), new.get("pending", {}).get(key, []), key)
        elif part in _EQUIPMENT:
            yield from _equipment_changes(old.get(part, ()), new.get(part, ()), _EQUIPMENT[part])
        else:
            yield from leaf_changes(old.get(part), new.get(part), _HEADS.get(part, part))


def _pending_changes(old: Sequence[Any], new: Sequence[Any], block: str) -> Iterator[str]:
    before, now = (pending_without_places(rows) for rows in (old, new))
    for row in (row for row in before if row not in now):
        yield f"row of {block} that was not yet read: {_pending(row)} is there no longer"
    for row in (row for row in now if row not in before):
        yield f"row of {block} that is not yet read: {_pending(row)} is there now"
    if len(before) != len(now) and all(row in now for row in before) and all(row in before for row in now):
        yield f"rows of {block} that are not yet read: from {len(before)} to {len(now)}"


def _pending(row: Mapping[str, Any]) -> str:
    return " ".join(str(value) for value in row.values()) or "one without level and frequency"


def _readable(visit: Mapping[str, Any]) -> str:
    return str(visit.get("problem", "it was read"))


def _equipment_changes(old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]], what: str) -> Iterator[str]:
    before, now = ({item["id"]: item for item in items} for items in (old, new))
    for name in {**before, **now}:
        if name not in now or name not in before:
            yield f"{what} {name}: {'used no longer' if name not in now else 'used, too'}"
        else:
            yield from leaf_changes(before[name], now[name], f"{what} {name}")
    if list(before) != list(now) and set(before) == set(now):
        yield f"{what}: from the order {', '.join(before)} to {', '.join(now)}"


def leaf_changes(old: Any, new: Any, where: str) -> Iterator[str]:
    """Yield what differs between two JSON values, each leaf from what to what; ``where`` begins each."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in {**old, **new}:
            yield from leaf_changes(old.get(key), new.get(key), f"{where}, {key}")
    elif isinstance(old, list) and isinstance(new, list) and (len(old) == len(new) or _is_of_entries(old, new)):
        for number, (a, b) in enumerate(zip_longest(old, new), start=1):
            yield from leaf_changes(a, b, f"{where} {number}")
    elif old != new:
        yield f"{where}: from {_shown(old)} to {_shown(new)}"


def _is_of_entries(*lists: list[Any]) -> bool:
    """Whether lists are tables: the whole of a long one, cut, would not show which entry was added or taken out."""
    return all(isinstance(item, Mapping) for items in lists for item in items)


def _shown(value: Any) -> str:
    if value is None:
        return "nothing"
    text = _worded(value) or "what is empty"
    return text if len(text) <= 200 else f"{text[:197]}..."


def _worded(value: Any) -> str:
    """An entry as "min_deg -10.0, max_deg 10.0"; what stands in brackets is within another."""
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_within(item)}" for key, item in value.items())
    if isinstance(value, list):
        return ", ".join(map(_within, value))
    return value if isinstance(value, str) else repr(value)


def _within(value: Any) -> str:
    return f"({_worded(value)})" if isinstance(value, Mapping | list) else _worded(value)


def _like_changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for tag in {**old, **new}:
        before, now = ({tuple(item[:3]): item[3:] for item in side.get(tag, ())} for side in (old, new))
        for key in {**before, **now}:
            if before.get(key) != now.get(key):
                where = f"{tag}, of its kind, {', '.join(key)}"
                yield f"{where}: from {_standing(before.get(key))} to {_standing(now.get(key))}"


def _standing(said: Sequence[bool] | None) -> str:
    if said is None:
        return "not read"
    within, broken = said
    return f"{'within' if within else 'out of'} tolerance{', after an exchange' if broken else ''}"
