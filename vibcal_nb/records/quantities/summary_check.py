"""Is what a row or a record says of itself in the form that the site is looked at by? Anyone may have written it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import date
from functools import lru_cache
from operator import itemgetter
from typing import Any

from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.model.names import AS_FOUND, AS_LEFT
from vibcal_nb.problems import is_storable

Check = Callable[[Any], bool]
_MISSING = object()


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and is_storable(value)


def _is_number(value: Any) -> bool:
    return type(value) in (float, int) and -math.inf < value < math.inf  # a boolean is none


def _is_count(value: Any) -> bool:
    return type(value) is int and value >= 0


def _is_day(value: Any) -> bool:
    return isinstance(value, str) and _names_day(value)


@lru_cache(maxsize=1000)  # the same few days stand in thousands of rows
def _names_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _or_none(check: Check) -> Check:
    return lambda value: value is None or check(value)


def _may_lack(check: Check) -> Check:
    return lambda value: value is None or value is _MISSING or check(value)


def _list(check: Check) -> Check:
    return lambda value: isinstance(value, list) and all(map(check, value))


def _object(**checks: Check) -> Check:
    """Check an object's members; a loop, since a hundred thousand summaries are looked at."""
    members = tuple(checks.items())

    def check(value: Any) -> bool:
        if not isinstance(value, dict):
            return False
        get = value.get
        for name, is_good in members:  # noqa: SIM110  # a generator takes twice as long
            if not is_good(get(name, _MISSING)):
                return False
        return True

    return check


_MEMBERS = itemgetter("id", "kind", "serial", "calibrated", "due")


def _is_instrument(value: Any) -> bool:
    try:
        return _is_known_instrument(_MEMBERS(value))
    except (KeyError, TypeError):  # a member that is not there, or a list where a text should be
        return False


@lru_cache(maxsize=1000)  # the same few instruments stand in thousands of rows
def _is_known_instrument(members: tuple[Any, ...]) -> bool:
    return all(map(_is_text, members[:3])) and all(map(_is_day, members[3:]))


_SENSITIVITY = _object(
    name=_is_text,
    deviation_pct=_is_number,
    u_own_pct=_is_number,
    nu_own=_or_none(_is_number),
    shared_pct=lambda value: isinstance(value, Mapping) and all(map(_is_number, value.values())),
    tolerance_pct=_or_none(_is_number),
    items=_may_lack(lambda value: isinstance(value, Mapping) and all(map(_is_text, value.values()))),
    nominal=_may_lack(_is_text),
)
_SET_POINT = _object(
    rotor=_is_text,
    frequency_hz=_is_number,
    set_point=_is_text,
    level=_is_number,
    max_applied=_or_none(_is_number),
    unit=_is_text,
    status=_may_lack(_is_text),
)
_SUMMARY = _object(
    asset=_is_text,
    visit=_is_text,
    date=_is_day,
    location=_may_lack(_is_text),
    worst=_may_lack(_object(name=_is_text, margin_pct=_or_none(_is_number))),
    equipment=_list(_is_instrument),
    sensitivities=_list(_SENSITIVITY),
    set_points=_list(_SET_POINT),
    gates=_may_lack(_list(_is_text)),
    missing=_may_lack(_list(_is_text)),
    excluded=_may_lack(_is_count),
    not_read=_may_lack(_is_count),
    sentence=_may_lack(_is_text),
    next_step=_may_lack(_is_text),
)
_ENTRY = _object(
    channel=_is_text,
    analysis=_is_text,
    condition=lambda value: value in (AS_FOUND, AS_LEFT),
    verdict=lambda value: value in VERDICTS,
)


def is_summary(summary: Any) -> bool:
    """Whether this is a summary as `records.summary` makes them; one without a date is none, and is passed over."""
    return isinstance(summary, Mapping) and (not summary or _SUMMARY(summary))


def is_entry(entry: Any) -> bool:
    """Whether this names a channel, an analysis, a condition and a verdict."""
    return bool(_ENTRY(entry))
