"""A table of keys as TOML to fill in: what is given, what is needed and open, what is optional.

A key is explained where it first stands in a file; further down it stands alone.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date
from textwrap import wrap

from vibcal_nb.model.common_kinds.common_kind import Open
from vibcal_nb.model.keys.key import Key, KeyTable

WIDTH = 118
_NEEDED = ' = ""  # needed, such as '
_PLAIN = set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")


class Explainer:
    """Writes tables of one file; ``told`` are the keys that it has explained already."""

    def __init__(self) -> None:
        self.told: set[tuple[str, str]] = set()

    def table(
        self,
        keys: KeyTable,
        values: Mapping[str, object],
        *,
        path: tuple[str, ...] = (),
        array: bool = False,
        without: frozenset[str] = frozenset(),
        heading: bool = True,
    ) -> list[str]:
        """Return a table's lines, those of the tables below it after its own keys.

        ``array`` makes it one of a list of tables; keys that are ``without`` are passed over where no value is given.
        """
        lines = [header(path, array=array)] if path and heading else []
        shown = [key for key in keys.keys if key.name in values or key.name not in without]
        for key in shown:
            if not _has_heading(key):
                lines += self._key(keys, key, values)
        for key in shown:
            if _has_heading(key) and key.table is not None:
                lines += self._below(keys, key, values, path)
        return lines

    def _key(self, keys: KeyTable, key: Key, values: Mapping[str, object]) -> list[str]:
        value = values.get(key.name)
        if value is None and _is_needed(key, values):
            value = Open(example=None)
        is_new = (keys.heading, key.name) not in self.told
        self.told.add((keys.heading, key.name))
        lines = list(explanation(key)) if is_new else []
        if value is None:
            return [*lines, f"# {bare(key.name)} = {example_of(key)}"] if is_new else []
        if isinstance(value, Open):
            said = example_of(key) if value.example is None else literal(value.example)
            wanted = f"{_NEEDED}{said}" if key.required else f' = ""  # such as {said}; or take the line away'
            return [*lines, f"{bare(key.name)}{wanted}"]
        return [*lines, f"{bare(key.name)} = {literal(value)}"]

    def _below(self, keys: KeyTable, key: Key, values: Mapping[str, object], path: tuple[str, ...]) -> list[str]:
        assert key.table is not None
        below, value = (*path, key.name), values.get(key.name)
        is_new = (keys.heading, key.name) not in self.told
        self.told.add((keys.heading, key.name))
        lines = ["", *commented(key.says)] if is_new or value is not None else []
        if key.type == "tables by name":
            named = value if isinstance(value, Mapping) else {}
            for name, item in named.items():
                lines += self.table(key.table, item, path=(*below, name))
            return lines if named or not is_new else [*lines, *self._unnamed(key, below)]
        if isinstance(value, Mapping):
            return [*lines, *self.table(key.table, value, path=below)]
        if isinstance(value, list):
            for item in value:
                lines += self.table(key.table, item, path=below, array=True)
            return lines
        if not is_new:
            return []
        return [*lines, *self.optional(key.table, path=below, array=key.type == "list of tables")]

    def _unnamed(self, key: Key, below: tuple[str, ...]) -> list[str]:
        """Show a table of which a person gives the name; of what restates a channel's keys, the heading alone."""
        assert key.table is not None
        path = (*below, key.named or "NAME")
        return [f"# {header(path)}"] if key.named == "DATE" else self.optional(key.table, path=path)

    def optional(self, keys: KeyTable, *, path: tuple[str, ...], array: bool = False) -> list[str]:
        """Return a whole table behind comment marks."""
        lines = self.table(keys, {}, path=path, array=array)
        return [line if not line or line.startswith("#") else f"# {_without_open(line, keys)}" for line in lines]


def _without_open(line: str, keys: KeyTable) -> str:
    """Write the example in place of an open value: behind a comment mark it is no claim."""
    name, is_open, said = line.partition(_NEEDED)
    return f"{name} = {said}" if is_open else line


def explanation(key: Key) -> Iterator[str]:
    """Yield the lines that say what a key is, and of each key of a table that stands in one line."""
    yield from commented(f"{key.says} ({_value_words(key)}{', needed' if key.required else ''})")
    if key.table is not None:
        yield from inner_explanations(key.table)


def inner_explanations(table: KeyTable) -> Iterator[str]:
    """Yield what the keys of a table in one line are, each on lines of its own."""
    for inner in table.keys:
        yield from commented(f"{inner.name}: {inner.says} ({_value_words(inner)})", indent="    ")


def commented(text: str, *, indent: str = "") -> Iterator[str]:
    """Yield a text as comments that fit a screen."""
    for number, line in enumerate(wrap(text, WIDTH - 2 - 2 * len(indent), break_on_hyphens=False)):
        yield f"# {indent}{'    ' if number and indent else ''}{line}"


def _value_words(key: Key) -> str:
    words = key.type + key.bounds + (f", {key.unit}" if key.unit else "")
    if key.choices and key.type == "choice":
        words += ": " + ", ".join(literal(choice) for choice in key.choices)
    return words


def _is_needed(key: Key, values: Mapping[str, object]) -> bool:
    """Whether the file is refused without it; of two that say the same, the first one stands open."""
    if not key.required or key.instead_of is None:
        return key.required
    return key.instead_of not in values and (key.type == "number")


def _has_heading(key: Key) -> bool:
    """Whether the key's tables stand below headings of their own."""
    of_tables = key.type in ("table", "list of tables", "tables by name")
    return of_tables and key.example is None


def example_of(key: Key) -> str:
    """Return a value as it would be written."""
    if key.example is not None:
        return key.example
    if key.default is not None:
        return literal(list(key.default) if isinstance(key.default, tuple) else key.default)
    return {"text": '"..."', "date": "2027-01-10", "number": "1.0", "list of texts": '["..."]'}.get(key.type, '"..."')


def header(path: tuple[str, ...], *, array: bool = False) -> str:
    """Return a table's heading."""
    name = ".".join(bare(part) for part in path)
    return f"[[{name}]]" if array else f"[{name}]"


def bare(name: str) -> str:
    """Return a key as TOML writes it: in quotes where it needs them."""
    return name if name and set(name) <= _PLAIN else literal(name)


def literal(value: object) -> str:
    """Return a value as TOML writes it.

    >>> literal({"hz": 80, "by": ["A", 1.5]})
    '{ hz = 80, by = ["A", 1.5] }'
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(literal, value)) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{bare(str(name))} = {literal(item)}" for name, item in value.items()) + " }"
    return value.isoformat() if isinstance(value, date) else repr(value)
