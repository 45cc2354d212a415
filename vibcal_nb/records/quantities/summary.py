"""What of a result is needed when it stands among thousands: where and when, margin, equipment, sensitivities.

It is part of the result that a record carries, so that a register of many records can be made of the records
alone, without the input folders.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from vibcal_nb.analysis.drift.drift import DriftResult
from vibcal_nb.analysis.drift.observations import Observation, observe
from vibcal_nb.analysis.linearity.linearity import LinearityResult
from vibcal_nb.analysis.site.margins import worst_margin
from vibcal_nb.display.results.statements import Result
from vibcal_nb.model.case import Case
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.records.quantities.digits import plain

if TYPE_CHECKING:
    from vibcal_nb.analysis.channel.channel_verdict import ChannelVerdict


def summarise(result: Result | DriftResult | ChannelVerdict) -> dict[str, Any]:
    """Return the summary of a result as JSON: percentages in %, dates as ISO 8601, levels in the channel's unit."""
    case, margin = result.case, worst_margin(result)
    return {
        "asset": case.asset_tag,
        "visit": case.visit_name,
        "date": case.visit.date.isoformat(),
        "location": case.channel.location,
        "equipment": _equipment(case),
        "worst": None if margin is None else {"name": margin.name, "margin_pct": plain(margin.margin_pct)},
        "sensitivities": [_sensitivity(item) for item in observe(result)],
        "set_points": _set_points(result) if isinstance(result, LinearityResult) else [],
    }


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
    }


def _set_points(result: LinearityResult) -> list[dict[str, Any]]:
    """Each set point at each rotor's speed, and the highest level that was read there (None: none was)."""
    channel = result.case.channel
    reached = {
        rotor.name: item.max_applied for item in result.frequencies for rotor in item.rotors if item.line is not None
    }
    return [
        {
            "rotor": rotor.name,
            "frequency_hz": plain(rotor.speed_hz),
            "set_point": name,
            "level": level,
            "max_applied": plain(reached.get(rotor.name)),
            "unit": channel.input_unit.text,
        }
        for rotor in channel.rotors
        for name, level in channel.set_points
    ]
