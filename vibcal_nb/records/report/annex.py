"""Every number of a result, digit for digit as ``results.json`` holds it, laid out as compact tables."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from vibcal_nb.display.writing.numbers import NONE

_WIDEST = 7
_FIRST = ("row", "rotor", "frequency_hz")


def annex_tables(entry: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Lay out an entry's quantities.

    Returns tables as mappings: ``title``; ``pairs`` of name and text; ``headings`` and ``rows`` where there is a
    list of like objects. What is the same in every row is said once, among the pairs.
    """
    name = f"{entry['analysis']}, {entry['condition']}"
    quantities = entry["quantities"]
    groups = quantities if isinstance(quantities, list) else [quantities]
    tables: list[dict[str, Any]] = []
    for group in groups:
        tables += _tables(name, group if isinstance(group, Mapping) else {"value": group})
    return tables


def _tables(title: str, group: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    deep = {key: value for key, value in group.items() if _has_rows(value)}
    pairs = [pair for key, value in group.items() if key not in deep for pair in _pairs(key, value)]
    yield {"title": title, "pairs": pairs, "headings": [], "rows": []}
    for key, value in deep.items():
        name = f"{title}: {key}"
        if isinstance(value, Mapping):
            yield from _tables(name, value)
        elif any(_has_rows(inner) for row in value for inner in row.values()):
            for number, row in enumerate(value, start=1):
                yield from _tables(f"{name} {number}", row)
        else:
            yield from _flat_tables(name, value)


def _flat_tables(title: str, rows: list[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """Lay out rows of plain values; more columns than fit stand in a further table with the same first ones."""
    flat = [dict(pair for key, value in row.items() for pair in _pairs(key, value)) for row in rows]
    names = sorted({name for row in flat for name in row}, key=lambda name: (name not in _FIRST, name))
    texts = {name: [row.get(name, NONE) for row in flat] for name in names}
    alike = [name for name in names if len(rows) > 1 and len(set(texts[name])) == 1]
    varied = [name for name in names if name not in alike]
    first = [name for name in varied if name in _FIRST]
    rest = [name for name in varied if name not in _FIRST]
    width = _WIDEST - len(first)
    pairs = [[f"every {name}", texts[name][0]] for name in alike]
    for start in range(0, max(len(rest), 1), width):
        headings = [*first, *rest[start : start + width]]
        yield {
            "title": title if start == 0 else f"{title}, continued",
            "pairs": pairs if start == 0 else [],
            "headings": headings,
            "rows": [[texts[name][number] for name in headings] for number in range(len(rows))],
        }


def _has_rows(value: Any) -> bool:
    """Whether a value holds, at any depth, a list of objects."""
    if isinstance(value, Mapping):
        return any(map(_has_rows, value.values()))
    return isinstance(value, list) and bool(value) and all(isinstance(row, Mapping) for row in value)


def _pairs(name: str, value: Any) -> Iterator[list[str]]:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _pairs(f"{name}.{key}", inner)
    else:
        yield [name, _text(value)]


def _text(value: Any) -> str:
    if value is None:
        return NONE
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        return "; ".join(map(_text, value))
    return json.dumps(value, ensure_ascii=False)
