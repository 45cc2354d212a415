"""The visit at the shaker: its files, its plan, its readings, and the verdicts as they stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.entry.answer import Answer, answer_reading, departure_of
from vibcal_nb.analysis.entry.coming_off import ComingOff, Performed, may_come_off
from vibcal_nb.analysis.entry.pace import seconds_a_reading
from vibcal_nb.analysis.entry.steps import Step, open_steps, steps_of_plans, steps_of_rows
from vibcal_nb.analysis.planning.asset_plan import plan_asset
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.analysis.planning.planned_case import Instruments, planned_case
from vibcal_nb.analysis.planning.shaker import ShakerError
from vibcal_nb.inputs.load_asset import find_asset_folders, load_asset_folder, load_visit_file
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import Case, make_case
from vibcal_nb.model.channel_case import select_tests
from vibcal_nb.model.items import SENSOR
from vibcal_nb.model.names import CHECKS, GAP_CURVE, SHAKER_TESTS
from vibcal_nb.model.readings import Reading, ReadingTable
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NotDone, NothingToPlan, Refused
from vibcal_nb.records.analyses import ANALYSES
from vibcal_nb.records.entry.journal import ENTER
from vibcal_nb.records.entry.visit_head import put_into_visit
from vibcal_nb.records.entry.visit_table import Kept, VisitTable, local_now
from vibcal_nb.records.perform.perform import perform


class ShakerVisit:
    """A visit while readings are entered. Raises ``InputRefused``, ``NotDone``, ``OSError`` where it cannot be opened.

    ``channels`` are the tags that are to be read, all of the asset where none is named. Where nothing ``is_kept``, the
    files are read alone.
    """

    def __init__(
        self,
        path: Path,
        *,
        channels: Sequence[str] = (),
        shaker: str = "",
        is_kept: bool = True,
        now: Callable[[], datetime] = local_now,
    ) -> None:
        self.path, self.shaker, self.now = path, shaker, now
        visit = load_visit_file(path)
        home = load_asset_folder(find_asset_folders(path)[0], day=visit.date)
        if visit.layout is not None:
            raise NotDone(
                f"The reading table of {path.name} is laid out otherwise ([table] or layout in visit.toml); at the "
                "shaker readings go into a table of one row a reading: leave the layout out, or use another visit."
            )
        self.table = VisitTable(path, asset=home.asset, columns=visit.columns, by=visit.performed_by, now=now)
        self.told: tuple[str, ...] = ()
        if is_kept:
            self.told = self.table.settle().told
        else:
            self.table.look()
        self.base: VisitFolder = load_visit(path)
        self.channels = tuple(channels) or tuple(home.asset.channels)
        self._plans: dict[str, tuple[ChannelPlan, ...]] = {}
        self.added: list[Step] = []
        self.later: list[Step] = []
        self._departures: dict[Reading, tuple[float, float, float] | None] = {}
        self._open: tuple[tuple[Any, ...], tuple[Step, ...]] | None = None

    @property
    def folder(self) -> VisitFolder:
        """The visit as its files stand."""
        return self.base if self.table.table is None else replace(self.base, table=self.table.table)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """All readings of the visit."""
        return self.folder.table.readings

    @property
    def lacks(self) -> tuple[str, ...]:
        """What the visit's file still wants before a reading can be kept."""
        wants = {"performed_by": self.base.visit.performed_by.strip(), "equipment": self.base.references}
        return tuple(name for name, there in wants.items() if not there)

    def state_head(self, values: Mapping[tuple[str, ...], Mapping[str, Any]]) -> None:
        """Put what was asked for into the visit's file. Raises ``InputRefused``, ``NotDone``, ``OSError``."""
        put_into_visit(self.path, values)
        self.base = load_visit(self.path)
        self._plans.clear()
        self._open = None

    def plans(self, condition: str) -> tuple[ChannelPlan, ...]:
        """Return the plan of each channel; none where nothing can be planned."""
        if condition not in self._plans:
            self._plans[condition] = self._planned(condition)
        return self._plans[condition]

    def _planned(self, condition: str) -> tuple[ChannelPlan, ...]:
        shakers = self.base.equipment.shakers
        taken = [item for item in shakers if item.id in self.base.visit.equipment]
        chosen = [item for item in shakers if item.id == self.shaker] or taken or list(shakers)
        try:
            return plan_asset(
                [self.base.asset.channel(tag, condition) for tag in self.channels],
                shakers=chosen,
                others=shakers,
                tests=(*SHAKER_TESTS, GAP_CURVE),
                without_mass=True,
            )
        except (NothingToPlan, ShakerError):
            return ()

    @property
    def is_prepared(self) -> bool:
        """Whether the table itself says what is to be read."""
        return "planned" in self.table.text.names or bool(self.folder.table.open)

    def steps(self, condition: str) -> tuple[Step, ...]:
        """Return all that is to be read: by the prepared table, else by the plan, then what was added."""
        if self.is_prepared:
            rows = [row for row in self.folder.table.open if row.test not in CHECKS and row.channel in self.channels]
            planned = tuple(step for step in steps_of_rows(rows, self.base.asset) if step.condition == condition)
        else:
            planned = steps_of_plans(self.plans(condition), condition=condition)
        return (*planned, *(step for step in self.added if step.condition == condition))

    def open_steps(self, condition: str) -> tuple[Step, ...]:
        """Return what is still to be read, what was put off last."""
        key = (condition, self.table.table, tuple(self.added), tuple(self.later))
        if self._open is None or not _is_same(key, self._open[0]):
            found = open_steps(self.steps(condition), self.readings)
            now = (step for step in found if step not in self.later)
            self._open = key, (*now, *(step for step in found if step in self.later))
        return self._open[1]

    def cases(self, channel: str, condition: str, *, test: str | None = None) -> tuple[Case, ...]:
        """Return the cases of a channel with the rows so far; that of ``test`` is among them, if empty."""
        found = select_tests(self.folder, channel=channel, condition=condition)
        if test is not None and test not in found:
            found[test] = make_case(self.folder, channel=channel, test=test, condition=condition)
        return tuple(found.values())

    def enter(self, cells: Mapping[str, str], *, step: Step | None) -> tuple[Kept, Answer]:
        """Keep a reading and answer it. Raises ``InputRefused`` where it is none, ``OSError`` where it is not kept."""
        fills = self.table.text.cells(step.row) if step is not None and step.row is not None else None
        before = self.cases(cells["channel"], cells["condition"], test=cells["test"])
        kept = self.table.enter(cells, fills=fills)
        assert kept.reading is not None  # it was entered
        return kept, answer_reading(kept.reading, before, step=step)

    def reading_at(self, row: int) -> Reading | None:
        """Return the reading in a row of the table."""
        return next((reading for reading in self.readings if reading.row == row), None)

    def departure(self, reading: Reading) -> tuple[float, float, float] | None:
        """Return by how much a reading departs from what is expected, and the least and most that it may, in %.

        None where nothing says what is expected.
        """
        if reading not in self._departures:
            self._departures[reading] = departure_of(
                reading, self.base.asset.channel(reading.channel, reading.condition)
            )
        return self._departures[reading]

    def performed(self, channel: str, condition: str, test: str) -> Performed:
        """Return a test's result as `run` would make it of the table as it stands, or why there is none."""
        if test not in ANALYSES:
            return f"{test} is judged within the channel's verdict"
        try:
            return perform(self.folder, channel=channel, analysis=test, condition=condition)
        except Refused as refused:
            return str(refused)

    def coming_off(self, channel: str, condition: str) -> ComingOff:
        """Return whether a channel's sensor may come off."""
        steps = [step for step in self.steps(condition) if step.channel == channel]
        own = [r for r in self.readings if (r.channel, r.condition) == (channel, condition)]
        tests = dict.fromkeys((*(step.test for step in steps), *(reading.test for reading in own)))
        order = [test for test in (*SHAKER_TESTS, *tests) if test in tests]
        return may_come_off(
            self.base.asset.channel(channel, condition),
            condition=condition,
            steps=steps,
            readings=own,
            performed={test: self.performed(channel, condition, test) for test in dict.fromkeys(order)},
        )

    @property
    def seconds_a_reading(self) -> float:
        """About how long one reading takes here."""
        events = self.table.events
        return seconds_a_reading([datetime.fromisoformat(event["at"]) for event in events if event["do"] == ENTER])

    def serial_of(self, channel: str, condition: str) -> str | None:
        """Return the serial of the sensor that the asset's file has on the channel."""
        items = self.base.asset.channel(channel, condition).items
        return next((item.serial for item in items if item.part == SENSOR and item.serial), None)

    def warm_up(self, condition: str) -> None:
        """Load what answers the first reading, by answering the plan as if it had been read: nobody waits for it then.

        Nothing is kept, and nothing is told of it.
        """
        plan = next((plan for plan in self.plans(condition) if plan.points), None)
        if plan is None:
            return
        base = self.base
        instruments = Instruments(visit=base.visit, references=base.references, readouts=base.readouts)
        for test in dict.fromkeys(point.test for point in plan.points):
            with suppress(Refused, ValueError, LookupError):
                readings = planned_case(plan, test=test, instruments=instruments).readings
                table = ReadingTable(readings=readings, file=base.table.file)
                tag, found = plan.channel.tag, readings[0].condition
                cases = select_tests(replace(base, table=table), channel=tag, condition=found)
                answer_reading(replace(readings[-1], row=0), tuple(cases.values()), step=None)
                perform(replace(base, table=table), channel=tag, analysis=test, condition=found)


def _is_same(one: tuple[Any, ...], other: tuple[Any, ...]) -> bool:
    """Whether what was found for one holds for the other: the very same table, and the same wishes."""
    return one[1] is other[1] and (one[0], *one[2:]) == (other[0], *other[2:])
