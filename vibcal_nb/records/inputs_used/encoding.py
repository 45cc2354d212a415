"""What the model states as JSON, and back: frozen dataclasses, units, dates, tuples and mappings, by their types.

A field that has its default is left out. So a field that a later version adds, with a default that changes nothing,
leaves the form of all earlier statements as it was.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any

from vibcal_nb.problems import Refused
from vibcal_nb.units import Unit, unit_of_text

_KIND = "is"  # where a field may hold one of several dataclasses: the name of the one that it holds


class NotEncoded(Refused):
    """JSON that is not the form of the type it should be; the text is one sentence."""


def encode(value: Any) -> Any:
    """Return a statement of the model as JSON. Raises ``TypeError`` for what no statement holds."""
    if value is None or isinstance(value, str | int | float):
        return value
    if isinstance(value, Unit):
        return value.text
    if isinstance(value, date):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: _encode_field(kind, item) for name, kind, item in _stated_fields(value)}
    if isinstance(value, Mapping):
        return {str(key): encode(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [encode(item) for item in value]
    raise TypeError(f"{type(value).__name__} is no statement of the model.")


def _stated_fields(value: Any) -> list[tuple[str, Any, Any]]:
    kind: Any = type(value)
    hints = _hints(kind)
    stated = ((field, getattr(value, field.name)) for field in dataclasses.fields(value))
    return [(field.name, hints[field.name], item) for field, item in stated if not _is_default(field, item)]


def _is_default(field: dataclasses.Field[Any], item: Any) -> bool:
    if field.default is not dataclasses.MISSING:
        return type(item) is type(field.default) and bool(item == field.default)
    if field.default_factory is not dataclasses.MISSING:
        return bool(item == field.default_factory())
    return False


def _encode_field(kind: Any, item: Any) -> Any:
    said = encode(item)
    if len(_dataclasses_of(kind)) > 1 and dataclasses.is_dataclass(item) and isinstance(said, dict):
        return {_KIND: type(item).__name__, **said}
    return said


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _members(kind: Any) -> tuple[Any, ...]:
    """The types that a field may have: of a union its members, else the type alone."""
    union = typing.get_origin(kind) in (typing.Union, types.UnionType)
    return typing.get_args(kind) if union else (kind,)


def _dataclasses_of(kind: Any) -> list[type]:
    return [member for member in _members(kind) if dataclasses.is_dataclass(member) and isinstance(member, type)]


def decode(kind: Any, said: Any) -> Any:
    """Return the statement of type ``kind`` that some JSON is the form of.

    Raises ``NotEncoded`` where it is not, whatever it is: it may come from a file that somebody forged.
    """
    try:
        return _decode(kind, said)
    except NotEncoded:
        raise
    except (TypeError, ValueError, KeyError, AttributeError, RecursionError) as error:
        raise NotEncoded(f"It states no {_name(kind)}: {error}") from None


def _decode(kind: Any, said: Any) -> Any:
    if said is None and type(None) in _members(kind):
        return None
    choices = [member for member in _members(kind) if member is not type(None)]
    if len(choices) > 1:
        return _decode_one_of(choices, said)
    (only,) = choices
    origin, arguments = typing.get_origin(only), typing.get_args(only)
    if origin is tuple:
        return _decode_tuple(arguments, said)
    if origin in (Mapping, dict):
        if not isinstance(said, dict):
            raise NotEncoded(f"It states no mapping but {type(said).__name__}.")
        return {key: _decode(arguments[1], item) for key, item in said.items()}
    return _decode_plain(only, said)


def _decode_one_of(choices: list[Any], said: Any) -> Any:
    if isinstance(said, dict) and _KIND in said:
        named = {member.__name__: member for member in choices if isinstance(member, type)}
        return _decode_plain(named[said[_KIND]], {key: item for key, item in said.items() if key != _KIND})
    for member in choices:
        try:
            return _decode(member, said)
        except (NotEncoded, TypeError, ValueError, KeyError):
            continue
    raise NotEncoded(f"It states none of {', '.join(map(_name, choices))}.")


def _decode_tuple(arguments: tuple[Any, ...], said: Any) -> tuple[Any, ...]:
    if not isinstance(said, list):
        raise NotEncoded(f"It states no list but {type(said).__name__}.")
    if len(arguments) == 2 and arguments[1] is Ellipsis:
        return tuple(_decode(arguments[0], item) for item in said)
    return tuple(_decode(argument, item) for argument, item in zip(arguments, said, strict=True))


def _decode_plain(kind: Any, said: Any) -> Any:
    if kind is Unit:
        return unit_of_text(_checked(said, str))
    if kind is date:
        return date.fromisoformat(_checked(said, str))
    if kind is float:
        return said if isinstance(said, int) and not isinstance(said, bool) else _checked(said, float)
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        hints = _hints(kind)
        return kind(**{name: _decode(hints[name], item) for name, item in _checked(said, dict).items()})
    return _checked(said, kind)


def _checked(said: Any, kind: Any) -> Any:
    if type(said) is not kind:
        raise NotEncoded(f"It states {type(said).__name__} where {_name(kind)} stands.")
    return said


def _name(kind: Any) -> str:
    return getattr(kind, "__name__", str(kind))
