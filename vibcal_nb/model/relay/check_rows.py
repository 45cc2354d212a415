"""Rows of the reading table that hold no output: what a relay did, how a group voted, electrical health."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from vibcal_nb.model.names import ELECTRICAL, SET_POINT, VOTING
from vibcal_nb.units import Unit


@dataclass(frozen=True, kw_only=True, slots=True)
class SetPointRow:
    """A level that was held, and whether the relay of a set point acted; ``row`` counts as a spreadsheet does.

    ``delay_s`` is from the level being exceeded to the relay, in seconds, None where it was not taken. ``direction`` is
    the way on which the level was reached, ``repeat`` numbers the approach; None where the table does not say. The
    decimals are the digits after the decimal mark as typed. ``output`` is what was written down besides.
    """

    row: int
    channel: str
    test: str
    condition: str
    frequency_hz: float
    applied: float
    applied_unit: Unit
    applied_decimals: int | None = None
    set_point: str
    acted: bool
    delay_s: float | None = None
    delay_decimals: int | None = None
    direction: str | None = None
    repeat: int | None = None
    output: float | None = None
    output_unit: Unit | None = None
    exclude: str | None = None
    note: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class VotingRow:
    """A state that was tried: the tags ``in_trip`` and whether the group, which is ``channel``, ``acted``."""

    row: int
    channel: str
    test: str
    condition: str
    in_trip: tuple[str, ...]
    acted: bool
    exclude: str | None = None
    note: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class ElectricalRow:
    """An electrical value of a channel at rest: ``value`` of ``item`` in ``unit``, ``decimals`` as typed."""

    row: int
    channel: str
    test: str
    condition: str
    item: str
    value: float
    value_decimals: int | None = None
    unit: str
    exclude: str | None = None
    note: str | None = None


CheckRow = SetPointRow | VotingRow | ElectricalRow

ROW_OF: Mapping[str, type[CheckRow]] = {SET_POINT: SetPointRow, VOTING: VotingRow, ELECTRICAL: ElectricalRow}
"""The kind of row of each test that has its own."""
