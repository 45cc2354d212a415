"""Every number of a result, digit for digit as ``results.json`` holds it, laid out as compact tables."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

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
    lists = {key: value for key, value in group.items() if _is_table(value)}
    pairs = [pair for key, value in group.items() if key not in lists for pair in _pairs(key, value)]
    yield {"title": title, "pairs": pairs, "headings": [], "rows": []}
    for key, rows in lists.items():
        names = sorted({name for row in rows for name in row}, key=lambda name: (name not in _FIRST, name))
        texts = {name: [_text(row.get(name)) for row in rows] for name in names}
        alike = [name for name in names if len(rows) > 1 and len(set(texts[name])) == 1]
        varied = [name for name in names if name not in alike]
        yield {
            "title": f"{title}: {key}",
            "pairs": [[f"every {name}", texts[name][0]] for name in alike],
            "headings": varied,
            "rows": [[texts[name][number] for name in varied] for number in range(len(rows))],
        }


def _is_table(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(row, Mapping) for row in value)


def _pairs(name: str, value: Any) -> Iterator[list[str]]:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _pairs(f"{name}.{key}", inner)
    else:
        yield [name, _text(value)]


def _text(value: Any) -> str:
    if value is None:
        return "–"
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        return "; ".join(map(_text, value))
    return json.dumps(value, ensure_ascii=False)
