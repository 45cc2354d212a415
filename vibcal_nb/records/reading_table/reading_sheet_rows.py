"""A plan as rows of a reading table that a person fills in: what is planned, and what a good channel puts out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.analysis.planning.plan import ChannelPlan, PlannedPoint
from vibcal_nb.analysis.relay.planned_checks import PlannedCheck
from vibcal_nb.model.names import BAND_RESPONSE, ELECTRICAL, SENSOR_ALONE, SET_POINT

COLUMNS = (
    *("channel", "test", "condition", "frequency_hz", "purpose", "planned", "applied", "applied_unit"),
    *("lowest", "expected", "highest", "output", "output_unit", "outside"),
    *("direction", "repeat", "exclude", "note", "phase_deg"),
)
PHASE = "phase_deg"
FILLED_IN = ("applied", "output")
OF_CHECKS = ("set_point", "acted", "delay_s", "in_trip", "item", "value", "unit")
"""The further columns of a sheet that plans set points, votes or electrical items."""

INJECTION_CAUTION = (
    "CAUTION. Nothing is injected into a live trip path without the site's permit, nor into an intrinsically safe loop "
    "but as its documents allow; in hazardous areas a source and a meter ignite (IEC 60079 series, from memory)."
)
CHECK_CAUTIONS = (
    "A trip path that is live is driven only under the site's permit, with the plant told and the relay's "
    "output isolated as that procedure has it. With a channel out, the logic that remains is what the site states.",
    "A shaker and a meter are ignition sources, and an intrinsically safe loop is opened only as its documents allow: "
    "in hazardous areas the site's permit decides (IEC 60079 series, from memory). Long cables keep a charge: "
    "discharge them before they are touched. Local codes and licensed practice rule.",
    "Hold each level longer than the relay's delay. Write yes or no into 'acted'; 'in_trip' names those in trip.",
)
PHASE_REMARK = (
    "Write the phase of the output against the level into 'phase_deg', in degrees, negative where the output lags."
)
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
CAUTIONS = (
    "CAUTION. A live protection channel is inhibited only under the site's permit and procedure, with the plant "
    "told, and is proved back in service afterwards; taking a sensor off can trip a running machine.",
    "Mind hot, high and pinch-point places, heavy sensors on small shakers, and hardline cable bent no tighter than "
    "its maker allows. Tighten by hand, holding the armature; balance the cable around the sensor and support it.",
    "Let each level settle, then write the level as the reference shows it into 'applied' and the reading into "
    "'output', in the units given. Leave empty what was not read; give a reason in 'exclude' where a reading must "
    "not count.",
)


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One row: ``point`` with its condition, where the channel's sensor sits, and whether a phase is read."""

    point: PlannedPoint
    condition: str
    location: str = ""
    asks_phase: bool = False

    def cells(self) -> dict[str, str | float | int | None]:
        """Return the row's cells by column; those to be filled in are None."""
        point = self.point
        return {
            "channel": point.channel,
            "test": point.test,
            "condition": self.condition,
            "frequency_hz": round(point.frequency_hz, 4) if point.frequency_hz else None,
            "purpose": point.purpose,
            "planned": point.level,
            "applied": None,
            "applied_unit": point.applied_unit.text,
            **_expected(point.output),
            "output": None,
            "output_unit": point.output_unit.text,
            "outside": None,
            "direction": point.direction,
            "repeat": point.repeat,
            "exclude": None,
            "note": None,
            PHASE: None,
        }


def sheet_rows(plans: Sequence[ChannelPlan], *, condition: str) -> tuple[SheetRow, ...]:
    """Return the rows of all plans, channel by channel, in the order in which they are taken."""
    return tuple(
        SheetRow(point=point, condition=condition, location=plan.channel.location, asks_phase=_asks(plan, point))
        for plan in plans
        for point in plan.points
    )


def _asks(plan: ChannelPlan, point: PlannedPoint) -> bool:
    """Whether the channel, or its sensor, states a phase that the row's test is judged by."""
    channel, sensor = plan.channel, plan.channel.sensor
    stated = {
        BAND_RESPONSE: channel.phase,
        SENSOR_ALONE: channel.phase if sensor is None else sensor.phase or channel.phase,
    }
    return stated.get(point.test) is not None


def asks_phase(plans: Sequence[ChannelPlan]) -> bool:
    """Whether any row of the plans has a phase to be read."""
    return any(_asks(plan, point) for plan in plans for point in plan.points)


def check_cells(check: PlannedCheck, *, condition: str) -> dict[str, str | float | int | None]:
    """Return the cells of a row of set-point, voting or electrical by column; those to be filled in are None."""
    level = check.level
    return {
        "channel": check.channel,
        "test": check.test,
        "condition": condition,
        "frequency_hz": None if check.frequency_hz is None else round(check.frequency_hz, 4),
        "purpose": check.purpose,
        "planned": None if level is None else _digits(level),
        "applied_unit": check.unit if check.test == SET_POINT else None,
        "lowest": check.lower,
        "highest": check.upper,
        "direction": check.direction,
        "repeat": check.repeat,
        "set_point": check.set_point,
        "in_trip": check.in_trip or None,
        "item": check.item,
        "unit": check.unit if check.test == ELECTRICAL else None,
    }


def heading_remarks(plans: Sequence[ChannelPlan]) -> tuple[str, ...]:
    """Return the sentences that stand above the headings: what this is, then the cautions."""
    shakers = ", ".join(dict.fromkeys(plan.shaker.id for plan in plans))
    masses = sorted({plan.moving_mass_kg for plan in plans if plan.mass_known})
    mass = "not stated"
    if masses:
        mass = f"{masses[0]:g} kg" if len(masses) == 1 else f"{masses[0]:g} to {masses[-1]:g} kg"
    said = dict.fromkeys(caution for plan in plans for caution in plan.cautions)
    return (
        f"Reading table for shaker {shakers}, moving mass {mass}.",
        *CAUTIONS,
        *((PHASE_REMARK,) if asks_phase(plans) else ()),
        *(f"{caution}." for caution in said),
    )


def gap_sentences(plans: Sequence[ChannelPlan]) -> tuple[str, ...]:
    """Return a sentence for each thing that will stay unverified, with its channels, and what would cover it."""
    channels: dict[str, list[str]] = {}
    for plan in plans:
        for gap in plan.out_of_reach:
            said = (
                f"{gap.what} will stay unverified: {gap.level:.4g} {gap.unit} is needed and {plan.shaker.id} reaches "
                f"{gap.reached:.3g} (limit: {gap.limited_by}). It takes {'; or '.join(gap.covers)}."
            )
            channels.setdefault(said, []).append(plan.channel.tag)
    found = tuple(f"{', '.join(tags)}: {said}" for said, tags in channels.items())
    return (*found, INJECTION_CAUTION) if any("injection" in said for said in channels) else found


def _expected(output: ExpectedOutput | None) -> dict[str, float | None]:
    names = ("lowest", "expected", "highest")
    return {name: None if output is None else _digits(getattr(output, name)) for name in names}


def _digits(value: float) -> float:
    return float(f"{value:.5g}")


def place_of(column: str) -> str:
    """Return the letter of a column in a workbook."""
    first, second = divmod((*COLUMNS, *OF_CHECKS).index(column), len(_LETTERS))
    return f"{_LETTERS[first - 1] if first else ''}{_LETTERS[second]}"
