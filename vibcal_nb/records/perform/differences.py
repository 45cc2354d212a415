"""What differs between a record's entry and the same entry performed again, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

SAME_WITHIN = 1e-6
"""Relative difference up to which a number counts as the same: results are rounded to eight digits, of which
platforms and versions of numerical libraries reproduce six."""

LAST_DIGIT = 1.0001e-7
"""One unit of the last of eight digits, at most, relative: a number next to a rounding boundary falls on either side of
it as its arrays happen to lie in memory, which the order of a library's sums depends on."""


def list_differences(kept: Any, again: Any, *, within: float = SAME_WITHIN) -> list[str]:
    """List in words what differs between a record's entry and the same entry performed again.

    Numbers that agree to ``within`` of their size are the same; texts and words must be equal.
    """
    return list(_differences("", kept, again, within))


def count_numbers(value: Any) -> int:
    """Count the numbers in an entry."""
    if isinstance(value, Mapping):
        return sum(map(count_numbers, value.values()))
    if isinstance(value, list):
        return sum(map(count_numbers, value))
    return int(_is_number(value))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _differences(path: str, kept: Any, again: Any, within: float) -> Iterator[str]:
    if isinstance(kept, Mapping) and isinstance(again, Mapping):
        keys = {**kept, **again}
        for key in sorted(keys, key=lambda key: isinstance(keys[key], list)):  # what is of the whole comes first
            name = f"{path}.{key}" if path else str(key)
            if key not in again or key not in kept:
                yield f"{name}: {'no longer computed' if key not in again else 'not in the record'}"
            else:
                yield from _differences(name, kept[key], again[key], within)
    elif isinstance(kept, list) and isinstance(again, list):
        if len(kept) != len(again):
            yield f"{path}: {len(kept)} items in the record, {len(again)} computed"
        for number, pair in enumerate(zip(kept, again, strict=False), start=1):
            yield from _differences(f"{path}[{number}]", *pair, within)
    elif _is_number(kept) and _is_number(again):
        size = max(abs(kept), abs(again))
        if kept != again and not abs(kept - again) <= within * size:
            yield f"{path}: {kept!r} in the record, {again!r} computed ({_by(kept, again)})"
    elif kept != again:
        yield f"{path}: {_short(kept)} in the record, {_short(again)} computed"


def _by(kept: float, again: float) -> str:
    return f"{100.0 * (again / kept - 1.0):+.2g} %" if kept else f"{again - kept:+.2g}"


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 80 else text[:77] + "..."
