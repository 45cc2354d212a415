"""JSON Schemas of the files that a person writes, from the tables of keys: editors complete keys and explain them.

Draft 7, which editors of TOML know; a date of TOML counts as a text of the format ``date``. A schema says less than the
readers do: what two keys mean together, and what a kind leaves to its channels, ``check`` says.
"""

from __future__ import annotations

import json
import tomllib
from pathlib import PurePosixPath
from typing import Any

from vibcal_nb.model.keys.channel_keys import CHANNEL
from vibcal_nb.model.keys.files import FILES
from vibcal_nb.model.keys.key import Key, KeyTable

FOLDER = ".schemas"
DRAFT = "http://json-schema.org/draft-07/schema#"


def schema_of(root: KeyTable) -> dict[str, Any]:
    """Return the schema of a file."""
    return {"$schema": DRAFT, "title": root.heading, **_table(root)}


def schema_texts() -> dict[str, str]:
    """Return the schemas' texts by the names of their files, such as ``asset.json``."""
    return {
        _name(file): json.dumps(schema_of(root), indent=1, ensure_ascii=False) + "\n" for file, root in FILES.items()
    }


def schema_line(file: str, *, depth: int) -> str:
    """Return the first line of a file, by which editors find its schema ``depth`` folders above."""
    return f"#:schema {'../' * depth or './'}{FOLDER}/{_name(file)}"


def _name(file: str) -> str:
    return f"{PurePosixPath(file).stem}.json"


def _table(table: KeyTable, *, strict: bool = True) -> dict[str, Any]:
    """Return a table's schema; one that is not ``strict`` may lack keys, which its kind may state."""
    schema: dict[str, Any] = {"type": "object", "description": table.says}
    if table.each is not None:
        return schema | {"additionalProperties": _table(table.each)}
    if not table.keys:
        return schema
    schema |= {"properties": {key.name: _key(key, strict) for key in table.keys}, "additionalProperties": False}
    required = [key.name for key in table.keys if key.required and key.instead_of is None]
    if required and strict:
        schema["required"] = required
    return schema


def _key(key: Key, strict: bool) -> dict[str, Any]:
    said = f"{key.says}{f' ({key.unit})' if key.unit else ''}"
    schema: dict[str, Any] = {**_value(key, strict), "description": said}
    if key.default is not None and isinstance(key.default, str | int | float):
        schema["default"] = key.default
    if key.example is not None:
        value = tomllib.loads(f"value = {key.example}")["value"]
        schema["examples"] = [json.loads(json.dumps(value, default=str))]  # a date becomes a text
    return schema


def _value(key: Key, strict: bool) -> dict[str, Any]:
    number = {"type": "number", **_bounds(key)}
    if key.type in ("table", "list of tables", "tables by name"):
        return _tables(key, strict)
    schemas: dict[str, dict[str, Any]] = {
        "text": {"type": "string", "maxLength": key.longest},
        "number": number,
        "whole number": {**number, "type": "integer"},
        "number or pair of numbers": {
            "anyOf": [number, {"type": "array", "items": number, "minItems": 2, "maxItems": 2}]
        },
        "pair of numbers": {"type": "array", "items": number, "minItems": 2, "maxItems": 2},
        "date": {"type": "string", "format": "date"},
        "time": {"type": "string"},
        "unit": {"type": "string"},
        "choice": {"enum": list(key.choices)},
        "true or false": {"type": "boolean"},
        "list of texts": _or_single(key, {"type": "string"}),
        "column by heading": {"type": "object"},
    }
    return schemas[key.type]


def _tables(key: Key, strict: bool) -> dict[str, Any]:
    assert key.table is not None
    # what a channel or a table of it lacks, its kind may state; a list, or a table in one line, is not merged
    is_whole = key.type == "list of tables" or key.example is not None
    table = _table(key.table, strict=is_whole or (strict and key.table is not CHANNEL))
    if key.type == "list of tables":
        return _or_single(key, table)
    return {"type": "object", "additionalProperties": table} if key.type == "tables by name" else table


def _or_single(key: Key, item: dict[str, Any]) -> dict[str, Any]:
    many = {"type": "array", "items": item}
    return {"anyOf": [item, many]} if key.single else many


def _bounds(key: Key) -> dict[str, float]:
    bounds = {"exclusiveMinimum": key.above, "minimum": key.least, "maximum": key.most}
    return {name: value for name, value in bounds.items() if value is not None}
