"""What a person types into a form, as the value that TOML would hold; and a value as a person would type it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from datetime import date
from typing import Any

from vibcal_nb.model.keys.key import Key
from vibcal_nb.records.new_files.explained import literal

_AS_TYPED = ("text", "unit", "choice")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")


def value_of(key: Key, text: str) -> Any:
    """Return the value of what was typed: None of nothing, the text itself where it is no such value.

    A text that is no value is for the readers to refuse, with their sentence. Numbers may have a decimal comma; the
    brackets and quotes of lists may be left out.

    >>> from vibcal_nb.model.keys.parts.band_keys import BAND
    >>> value_of(BAND["flat_hz"], "40, 250"), value_of(BAND["flat_pct"], "2,5"), value_of(BAND["flat_pct"], "five")
    ([40, 250], 2.5, 'five')
    """
    text = text.strip()
    if not text:
        return None
    if key.type in _AS_TYPED:
        return text
    if key.type == "list of texts" and not text.startswith("["):
        return [part.strip().strip('"') for part in text.split(",") if part.strip()]
    if key.type in ("number", "whole number", "number or pair of numbers") and _DECIMAL_COMMA.fullmatch(text):
        text = text.replace(",", ".")
    is_pair = key.type == "pair of numbers" or (key.type == "number or pair of numbers" and "," in text)
    if is_pair and not text.startswith("["):
        text = f"[{text}]"
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (tomllib.TOMLDecodeError, ValueError, KeyError):
        return text


def typed(key: Key, value: object) -> str:
    """Return a value as a person would type it; nothing of None."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if key.type in ("pair of numbers", "number or pair of numbers", "list of texts") and isinstance(value, list):
        return ", ".join(item if isinstance(item, str) else literal(item) for item in value)
    return literal(value) if isinstance(value, bool | int | float | list | Mapping | date) else str(value)
