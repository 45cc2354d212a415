"""Seeded mutations of good input files: of their bytes, of a table's cells, of a TOML file's values."""

from __future__ import annotations

import copy
import json
from datetime import date, datetime
from random import Random
from typing import Any

from tests.fuzzing.nasty import BYTES, TEXTS


def mutate_bytes(data: bytes, random: Random) -> bytes:
    """Change one to four places: flip, cut, double, insert or move some bytes; one time in three only digits."""
    changed = bytearray(data)
    if random.random() < 1 / 3:
        digits = [place for place, byte in enumerate(data) if 48 <= byte <= 57]
        for place in random.sample(digits, min(len(digits), random.randint(1, 4))):
            changed[place] = random.choice(b"0123456789")
        return bytes(changed)
    for _ in range(random.randint(1, 4)):
        place = random.randrange(len(changed) + 1)
        length = random.choice((1, 1, 1, 4, 40, 400))
        piece = bytes(changed[place : place + length])
        kind = random.randrange(6)
        if kind == 0 and place < len(changed):
            changed[place] ^= 1 << random.randrange(8)
        elif kind == 1:
            del changed[place : place + length]
        elif kind == 2:
            changed[place:place] = piece
        elif kind == 3:
            changed[place:place] = random.choice(BYTES)
        elif kind == 4:
            changed[place : place + length] = random.choice(TEXTS).encode("utf-8", "surrogatepass")
        else:
            del changed[place : place + length]
            other = random.randrange(len(changed) + 1)
            changed[other:other] = piece
    return bytes(changed)


def mutate_rows(rows: list[list[str]], random: Random, *, mildly: bool = True) -> list[list[str]]:
    """Change one to three cells, rows or columns of a table (headings first); some of a reading table only mildly."""
    changed = copy.deepcopy(rows)
    if mildly and random.random() < 1 / 3:
        return _mutate_mildly(changed, random)
    for _ in range(random.randint(1, 3)):
        number = random.randrange(len(changed))
        row = changed[number]
        kind = random.randrange(10)
        if kind < 5 and row:
            row[random.randrange(len(row))] = random.choice(TEXTS)
        elif kind == 5:
            changed.insert(number, list(row))
        elif kind == 6 and len(changed) > 1:
            del changed[number]
        elif kind == 7:
            row.append(random.choice(TEXTS))
        elif kind == 8 and row:
            del row[random.randrange(len(row))]
        else:
            column = random.randrange(max(len(row), 1))
            for other in changed:
                del other[column : column + 1]
        if not changed:
            changed.append([])
    return changed


def _mutate_mildly(rows: list[list[str]], random: Random) -> list[list[str]]:
    """Another order of rows, other numbers, and whatever a person may write into a remark."""
    body = rows[1:]
    random.shuffle(body)
    for row in random.sample(body, 3):
        for column in (3, 4, 6):
            if random.random() < 0.5:
                row[column] = f"{float(row[column]) * random.choice((0.1, 0.5, 0.97, 1.0, 1.3, 10.0, 1e6)):.6g}"
        row[-1] = random.choice(TEXTS)
        row[-2] = random.choice(("", "", random.choice(TEXTS)))
    return [rows[0], *body]


_VALUES: tuple[Any, ...] = (
    *TEXTS,
    0,
    -1,
    1,
    2.5,
    -0.0,
    1e300,
    1e-300,
    float("inf"),
    float("nan"),
    10**30,
    True,
    False,
    [],
    [1],
    [1, 2],
    [2, 1],
    ["turbine"],
    [["turbine"]],
    [{}],
    [{"a": 1}],
    {},
    {"a": {"b": 1}},
    date(1, 1, 1),
    date(9999, 12, 31),
    datetime(2026, 5, 19, 1, 2, 3),
)


_DEEP: Any = []
for _ in range(300):
    _DEEP = [_DEEP]
_JSON_VALUES: tuple[Any, ...] = (
    *(value for value in _VALUES if not isinstance(value, date)),
    None,
    float("-inf"),
    10**400,
    -(10**4000),
    "\ud800",
    "\x00",
    "a" * 100_000,
    _DEEP,
    {"data": {"text/html": 1}},
    "0001-01-01",
    "9999-12-31",
)


def mutate_toml(values: dict[str, Any], random: Random) -> str:
    """Change one to three values or keys anywhere in the tree, and write it as TOML."""
    return write_toml(mutate_tree(values, random, _VALUES))


def mutate_json(values: Any, random: Random) -> Any:
    """Change one to three values or keys anywhere in the tree of some JSON."""
    return mutate_tree(values, random, _JSON_VALUES)


def mutate_tree(values: Any, random: Random, others: tuple[Any, ...]) -> Any:
    """Change one to three values or keys anywhere in a tree; ``others`` is what values become."""
    changed = copy.deepcopy(values)
    for _ in range(random.randint(1, 3)):
        holder: Any = changed
        while True:
            places = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
            if not places:
                break
            place = random.choice(places)
            if isinstance(holder[place], (dict, list)) and holder[place] and random.random() < 0.8:
                holder = holder[place]
                continue
            _change(holder, place, random, others)
            break
    return changed


def _change(holder: Any, place: Any, random: Random, others: tuple[Any, ...]) -> None:
    kind = random.randrange(5)
    if kind == 0:
        del holder[place]
    elif kind == 1 and isinstance(holder, dict):
        holder[random.choice(TEXTS)] = holder.pop(place)
    elif kind == 2 and isinstance(holder, dict):
        holder[random.choice(TEXTS)] = copy.deepcopy(holder[place])
    else:
        holder[place] = copy.deepcopy(random.choice(others))


def write_toml(values: dict[str, Any]) -> str:
    """Write a tree as TOML, every table inline below the first level."""
    return "\n".join(f"{_text(key)} = {_value(value)}" for key, value in values.items()) + "\n"


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=True).replace("\\u007f", "\x7f")


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return _text(value) if isinstance(value, str) else repr(value)
