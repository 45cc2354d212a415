"""TOML texts with values changed or tables added; what a person wrote stays as it is, comments too."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from vibcal_nb.problems import NotDone


def with_tables(text: str, added: str, *, file: str) -> str:
    """Return a TOML text with tables added at its end.

    Raises ``NotDone`` where a table of that name is there already, or the text is not TOML: nothing is put over it.
    """
    before, more = _loads(text, file), tomllib.loads(added)
    result = f"{text.rstrip()}\n\n{added}" if text.strip() else added
    try:
        after = tomllib.loads(result)
    except tomllib.TOMLDecodeError as error:
        raise NotDone(f"{file} has one of the tables already ({error}); nothing was changed.") from None
    if after != merged(before, more):
        raise NotDone(f"{file} has one of the tables already; nothing was changed.")
    return result


def with_values(text: str, path: tuple[str, ...], values: Mapping[str, Any], *, file: str) -> str:
    """Return a TOML text with values of one table changed; None takes a key away. All else stays byte for byte.

    A table that is not there is added. Raises ``NotDone`` where the text cannot be changed so.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    wanted = _loads(text, file)
    try:
        document: Any = tomlkit.parse(text)
        table, plain = document, wanted
        for name in path:
            if name not in table:
                table[name] = tomlkit.table()
            table, plain = table[name], plain.setdefault(name, {})
        for name, value in values.items():
            _put(table, name, value)
            _put(plain, name, value)
        result = tomlkit.dumps(document)
    except (TOMLKitError, TypeError, AttributeError) as error:
        raise NotDone(f"{file} could not be changed at {'.'.join(path)} ({error}); nothing was changed.") from None
    if _loads(result, file) != wanted:
        raise NotDone(f"{file} would not read back as it was changed at {'.'.join(path)}; nothing was changed.")
    return result


def _put(table: Any, name: str, value: Any) -> None:
    if value is None:
        if name in table:
            del table[name]
    elif name not in table or table[name] != value:
        table[name] = value


def _loads(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise NotDone(f"{file} is not TOML ({error}); mend the line that is named, nothing was changed.") from None


def merged(first: Mapping[str, Any], second: Mapping[str, Any]) -> dict[str, Any]:
    """Return two sets of tables as one, the second over the first, key by key."""
    both = dict(first)
    for name, value in second.items():
        there = both.get(name)
        both[name] = merged(there, value) if isinstance(there, dict) and isinstance(value, dict) else value
    return both
