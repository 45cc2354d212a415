"""One question put to one channel: its readings of one test in one condition, and what they were taken with."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import DISPLACEMENT, VIBRATION, Readout, Reference, Shaker
from vibcal_nb.model.items import CONVERTER, MONITOR, SENSOR, Item
from vibcal_nb.model.names import (
    BAND_RESPONSE,
    ELECTRICAL,
    GAP_CURVE,
    LINEARITY,
    MODULE_ALONE,
    READ_BY_ITSELF,
    SENSOR_ALONE,
    TESTS,
    VOTING,
)
from vibcal_nb.model.readings import PendingRow, Reading
from vibcal_nb.model.relay.check_rows import CheckRow
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.model.visit import Visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import Unit, parse_unit

ROOM_C, ROOM_WITHIN_K = 20.0, 15.0
"""What counts as the temperature of a room, and how far it may be from it. Judgement, no source."""

EXPLORATION = "left out while exploring"

_Row = TypeVar("_Row", Reading, CheckRow)


@dataclass(frozen=True, kw_only=True)
class Case:
    """What an analysis is made from.

    ``readings`` holds the excluded ones too, with their reasons; ``checks`` are rows of a test that reads no output,
    ``hot`` readings of a sensor that was heated or cooled, which are none of ``readings``, ``pending`` planned rows of
    this channel and test that were not read. The ``with_...`` methods return a changed copy for what-if questions;
    nothing a person typed is altered.
    """

    asset_tag: str
    asset_name: str
    visit_name: str
    channel: Channel
    test: str
    condition: str
    readings: tuple[Reading, ...]
    references: tuple[Reference, ...]
    readouts: tuple[Readout, ...]
    visit: Visit
    table_file: str
    shakers: tuple[Shaker, ...] = ()
    pending: tuple[PendingRow, ...] = ()
    checks: tuple[CheckRow, ...] = ()
    hot: tuple[Reading, ...] = ()

    @property
    def input_unit(self) -> Unit:
        """Unit of the applied level in this test: the sensor's own where it stands alone."""
        return self._part().input_unit

    @property
    def output_unit(self) -> Unit:
        """Unit of the output in this test."""
        return self._part().output_unit

    @property
    def nominal_sensitivity(self) -> float:
        """Nominal sensitivity of the part under test, in output unit per input unit."""
        return self._part().nominal_sensitivity

    @property
    def output_zero(self) -> float:
        """Output at no input, in the output unit: the live zero of a channel or its module, 0 for a sensor alone."""
        module = self.channel.module
        live = self.test == MODULE_ALONE and module is not None and module.output_unit.detector == "dc"
        return self.channel.output_zero if live or self.test in (LINEARITY, BAND_RESPONSE) else 0.0

    @property
    def items(self) -> tuple[Item, ...]:
        """The items that this test passes through: the sensor by itself, what follows it, or all.

        A gap curve is of a probe with its cable and converter.
        """
        items = self.channel.items
        if self.test == SENSOR_ALONE:
            return tuple(item for item in items if item.part == SENSOR)
        if self.test == MODULE_ALONE:
            return tuple(item for item in items if item.part in (CONVERTER, MONITOR))
        if self.test == GAP_CURVE:
            return tuple(item for item in items if item.part != MONITOR)
        return items

    def _part(self):  # type: ignore[no-untyped-def]  # Channel, or the specification of a part
        parts = {
            SENSOR_ALONE: self.channel.sensor,
            MODULE_ALONE: self.channel.module,
            GAP_CURVE: self.channel.gap_curve,
        }
        part = parts.get(self.test, self.channel)
        return self.channel if part is None else part

    def with_decision(self, *, rule: str, r: float = 1.0, coverage_probability: float | None = None) -> Case:
        """Return the case judged under another decision rule; U for the visit's coverage, or for another."""
        stated = self.visit.decision
        probability = stated.coverage_probability if coverage_probability is None else coverage_probability
        decision = replace(stated, rule=rule, r=r, coverage_probability=probability)
        return replace(self, visit=replace(self.visit, decision=decision))

    def with_channel(self, **changes: object) -> Case:
        """Return the case with other limits of the channel, for example ``nonlinearity_pct=1.0``."""
        return replace(self, channel=replace(self.channel, **changes))  # type: ignore[arg-type]

    def with_tolerance(self, tolerance_pct: float) -> Case:
        """Return the case with the channel's tolerance made so wide at full scale; its parts keep their shares."""
        factor = tolerance_pct / self.channel.tolerance_pct
        return self.with_channel(tolerance=self.channel.tolerance.scaled(factor))

    def with_band(self, **changes: object) -> Case:
        """Return the case with other limits of the band response."""
        return self.with_channel(band=replace(self.channel.band, **changes))  # type: ignore[type-var]

    def with_sensor(self, **changes: object) -> Case:
        """Return the case with other limits of the sensor alone."""
        return self.with_channel(sensor=replace(self.channel.sensor, **changes))  # type: ignore[type-var]

    def with_gap_curve(self, **changes: object) -> Case:
        """Return the case with other limits of the gap curve."""
        return self.with_channel(gap_curve=replace(self.channel.gap_curve, **changes))  # type: ignore[type-var]

    def with_excluded(self, rows: Collection[int]) -> Case:
        """Return the case with exactly the readings of these table rows left out; typed reasons are kept."""
        return replace(
            self,
            readings=tuple(_exclude(reading, reading.row in rows) for reading in self.readings),
            checks=tuple(_exclude(check, check.row in rows) for check in self.checks),
        )

    def with_relay_tolerance(self, set_point: str, tolerance: Tolerance) -> Case:
        """Return the case with another tolerance of a set point of the channel. Raises ``KeyError``."""
        relay = replace(self.channel.relay_of(set_point), tolerance=tolerance)
        others = tuple(item for item in self.channel.relays if item.name != set_point)
        return self.with_channel(relays=(*others, relay))

    def with_applied_detector(self, detector: str) -> Case:
        """Return the case as if the applied levels had been written with ``detector`` (pk, rms or pkpk)."""
        return replace(self, readings=tuple(_reinterpret(reading, detector) for reading in self.readings))


def _exclude(row: _Row, out: bool) -> _Row:
    return replace(row, exclude=(row.exclude or EXPLORATION) if out else None)


def _reinterpret(reading: Reading, detector: str) -> Reading:
    return replace(reading, applied_unit=parse_unit(f"{reading.applied_unit.symbol} {detector}"))


def select_case(folder: VisitFolder, *, channel: str, test: str, condition: str) -> Case:
    """Select the readings of one channel, test and condition from a visit.

    Raises ``NothingToAnalyse`` with a sentence naming what the visit holds where there is nothing to select.
    """
    require_channel(folder, channel)
    what = (channel, test, condition)
    readings = tuple(r for r in folder.table.readings if (r.channel, r.test, r.condition) == what)
    checks = tuple(r for r in folder.table.checks if (r.channel, r.test, r.condition) == what)
    if not readings and not checks:
        held = sorted({f"{r.test} {r.condition}" for r in folder.table.rows if r.channel == channel})
        raise NothingToAnalyse(
            f"{folder.table.file} holds no {test} readings of {channel} {condition}; "
            f"it holds {', '.join(held) or 'nothing of this channel'}."
        )
    cold, hot = (tuple(r for r in readings if is_hot(r) == wanted) for wanted in (False, True))
    case = make_case(folder, channel=channel, test=test, condition=condition, readings=cold, checks=checks)
    return replace(case, hot=hot)


def is_hot(reading: Reading) -> bool:
    """Whether a reading is of a sensor that was heated or cooled beyond what a room may have."""
    return reading.temperature_c is not None and abs(reading.temperature_c - ROOM_C) > ROOM_WITHIN_K


def require_channel(folder: VisitFolder, channel: str) -> None:
    """Raise ``NothingToAnalyse``, naming the channels that there are, where the asset has no such channel."""
    if channel not in folder.asset.channels and channel not in folder.asset.groups:
        known = ", ".join((*folder.asset.channels, *folder.asset.groups))
        raise NothingToAnalyse(f"Asset {folder.asset.tag} has no channel '{channel}'; its channels are {known}.")


def make_case(
    folder: VisitFolder,
    *,
    channel: str,
    test: str,
    condition: str,
    readings: tuple[Reading, ...] = (),
    checks: tuple[CheckRow, ...] = (),
) -> Case:
    """Return the case of a channel that the asset has, with the equipment of its visit that fits the test."""
    shaken = test not in (VOTING, ELECTRICAL)
    return Case(
        asset_tag=folder.asset.tag,
        asset_name=folder.asset.name,
        visit_name=folder.path.name,
        channel=folder.asset.channel(channel, condition),
        test=test,
        condition=condition,
        readings=readings,
        references=fitting_references(folder.references, channel=folder.asset.channel(channel, condition), test=test),
        readouts=() if test in READ_BY_ITSELF else folder.readouts,
        shakers=tuple(item for item in folder.equipment.shakers if item.id in folder.visit.equipment and shaken),
        visit=folder.visit,
        table_file=folder.table.file,
        pending=tuple(
            row for row in folder.table.pending if (row.channel, row.test, row.condition) == (channel, test, condition)
        ),
        checks=checks,
    )


def fitting_references(references: Iterable[Reference], *, channel: Channel, test: str) -> tuple[Reference, ...]:
    """Return the references that make known what a test applies: vibration, a gap, or what the module is given."""
    if test in (VOTING, ELECTRICAL):
        return ()
    if test == GAP_CURVE:
        return tuple(item for item in references if item.quantity == DISPLACEMENT)
    if test != MODULE_ALONE:
        return tuple(item for item in references if item.quantity == VIBRATION)
    module = channel.module
    injected = None if module is None else module.input_unit.quantity
    return tuple(
        item
        for item in references
        if item.quantity not in (VIBRATION, DISPLACEMENT) and injected in (None, item.quantity)
    )


def list_cases(folder: VisitFolder) -> list[tuple[str, str, str]]:
    """List (channel, test, condition) for which the visit holds readings, in the asset's order of channels."""
    order = {tag: number for number, tag in enumerate(folder.asset.channels)}
    found = {(r.channel, r.test, r.condition) for r in folder.table.rows}
    return sorted(found, key=lambda item: (order.get(item[0], math.inf), item[0], TESTS.index(item[1]), item[2]))
