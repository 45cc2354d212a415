"""What of a result is needed when it stands among thousands: where and when, margin, equipment, sensitivities.

It is part of the result that a record carries, so that a register of many records can be made of the records
alone, without the input folders.
"""

from __future__ import annotations

from typing import Any, TypedDict, cast

from vibcal_nb.analysis.drift.observations import Observation, observe
from vibcal_nb.analysis.result import DrivenSetPoint, Result
from vibcal_nb.analysis.site.margins import worst_margin
from vibcal_nb.display.card.card import card_of
from vibcal_nb.model.case import Case
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.records.quantities.digits import plain


class EquipmentEntry(TypedDict):
    """One reference or readout that the visit names."""

    id: str
    """Its name on the site."""
    kind: str
    """``reference`` or ``readout``."""
    serial: str
    """Serial number."""
    calibrated: str
    """Date of its certificate, ISO 8601."""
    due: str
    """Until when that holds, ISO 8601."""


class ItemsEntry(TypedDict, total=False):
    """What was tested: serial numbers, where they are stated, of the parts that are."""

    sensor: str
    """The sensor."""
    cable: str
    """The cable."""
    converter: str
    """The converter."""
    monitor: str
    """The monitor."""


class SensitivityEntry(TypedDict):
    """One sensitivity, fit to be held against other visits."""

    name: str
    """Which sensitivity."""
    deviation_pct: float | None
    """Deviation from nominal, %."""
    u_own_pct: float | None
    """Standard uncertainty of its own, %."""
    nu_own: float | None
    """Degrees of freedom of that; null where infinitely many."""
    shared_pct: dict[str, float | None]
    """Standard uncertainties shared with others that name the same source, %."""
    tolerance_pct: float | None
    """Its limit on either side, %."""
    items: ItemsEntry
    """What was tested, by part."""
    nominal: str | None
    """What the deviation is from."""


class SetPointEntry(TypedDict):
    """A set point at a rotor's speed, and how far it was read there."""

    rotor: str
    """Name of the rotor; empty where the channel states none."""
    frequency_hz: float | None
    """Its running speed, Hz."""
    set_point: str
    """``alert`` or ``trip``."""
    level: float
    """Level at which it is set."""
    max_applied: float | None
    """Highest level that was read there; null where none was."""
    unit: str
    """Unit of the levels."""
    status: str | None
    """Status of the channel's reach; null of a test, which does not judge it."""


class WorstEntry(TypedDict):
    """What lies nearest to a limit of its own."""

    name: str
    """What it is."""
    margin_pct: float | None
    """Distance from the limit, % of the room there is; negative outside."""


class Summary(TypedDict):
    """What of a result is needed when it stands among thousands."""

    asset: str
    """Tag of the asset."""
    visit: str
    """Name of the visit's folder."""
    date: str
    """Date of the visit, ISO 8601."""
    location: str | None
    """Where the channel sits."""
    equipment: list[EquipmentEntry]
    """What the visit measured with."""
    worst: WorstEntry | None
    """What lies nearest to its limit; null where nothing was judged."""
    sensitivities: list[SensitivityEntry]
    """Sensitivities that the result states."""
    set_points: list[SetPointEntry]
    """Set points, of a linearity and of a whole channel."""
    gates: list[str]
    """What kept a pass from being said, by name."""
    missing: list[str]
    """Tests that a whole channel is asked for and was not given."""
    excluded: int
    """Readings that are excluded."""
    not_read: int
    """Planned rows that have no output."""
    sentence: str
    """The answer in one plain sentence, as the card has it."""
    next_step: str
    """What to do first, as the card has it."""


def summarise(result: Result) -> Summary:
    """Return the summary of a result as JSON: percentages in %, dates as ISO 8601, levels in the channel's unit."""
    case, margin, card = result.case, worst_margin(result), card_of(result)
    entry = {
        "asset": case.asset_tag,
        "visit": case.visit_name,
        "date": case.visit.date.isoformat(),
        "location": case.channel.location,
        "equipment": _equipment(case),
        "worst": None if margin is None else {"name": margin.name, "margin_pct": plain(margin.margin_pct)},
        "sensitivities": [_sensitivity(item) for item in observe(result)],
        "set_points": [_set_point(item, case.channel.input_unit.text) for item in result.driven()],
        "gates": list(dict.fromkeys(gate.gate for gate in result.gates)),
        "missing": list(result.missing),
        "excluded": sum(len(item.excluded) for item in result.left_out),
        "not_read": sum(len(item.pending) + len(item.given_up) for item in result.left_out),
        "sentence": card.sentence,
        "next_step": card.next_steps[0] if card.next_steps else "",
    }
    return cast(Summary, entry)


def _equipment(case: Case | ChannelCase) -> list[dict[str, str]]:
    kinds = (("reference", case.references), ("readout", case.readouts))
    return [
        {
            "id": item.id,
            "kind": kind,
            "serial": item.serial,
            "calibrated": item.calibrated.isoformat(),
            "due": item.due.isoformat(),
        }
        for kind, items in kinds
        for item in items
    ]


def _sensitivity(item: Observation) -> dict[str, Any]:
    return {
        "name": item.quantity,
        "deviation_pct": plain(item.deviation_pct),
        "u_own_pct": plain(item.u_own_pct),
        "nu_own": plain(item.nu_own),
        "shared_pct": {source: plain(u) for source, u in item.shared_pct.items()},
        "tolerance_pct": item.tolerance_pct,
        "items": dict(item.items or {}),
        "nominal": item.nominal,
    }


def _set_point(item: DrivenSetPoint, unit: str) -> dict[str, Any]:
    return {
        "rotor": item.rotor,
        "frequency_hz": plain(item.frequency_hz),
        "set_point": item.set_point,
        "level": item.level,
        "max_applied": plain(item.highest),
        "unit": unit,
        "status": item.status,
    }
