"""A plan as something to explore: another shaker, another moving mass, other set points, and what is reached then."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.light_figure import LightFigure
from vibcal_nb.display.planning.plan_plots import HEIGHT, draw_plan, plan_text
from vibcal_nb.display.planning.plan_tables import gaps_table, points_tables
from vibcal_nb.display.results.view import Control, Grip
from vibcal_nb.display.writing.names import plural
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.notebook.touch.exploration import Stand
from vibcal_nb.notebook.touch.explored import level_units
from vibcal_nb.notebook.touch.readings_shown import table_of
from vibcal_nb.notebook.touch.subject import AnyControl, Choice, Data, Outcome

SHAKER, MASS = "shaker", "moving_mass_kg"
SET_POINTS = ("alert", "trip")
MakePlan = Callable[[Channel, Shaker, float], ChannelPlan]


class PlanSubject:
    """The plan of one channel; see `subject.Subject`. ``make`` plans for a channel, a shaker and a mass in kg."""

    base, each = "plan", "row"
    texts: Mapping[int, str] = MappingProxyType({})

    def __init__(self, plan: ChannelPlan, shakers: Sequence[Shaker], make: MakePlan, *, visit: str) -> None:
        self._plan, self._make = plan, make
        self._shakers = {item.id: item for item in shakers}
        channel = plan.channel
        self.name = f"{channel.tag}, plan"
        self.parts: tuple[str, ...] = (channel.tag, visit, "plan")
        self.controls = _controls(plan, tuple(self._shakers))
        self.record = Stand(values={c.name: c.value for c in self.controls}, left_out={})
        self.rows: frozenset[int] = frozenset()
        self.units = level_units(channel.input_unit)

    def begun(self) -> Outcome:
        """Return the plan as the files state it."""
        return _outcome(self._plan)

    def at(self, stand: Stand) -> Outcome:
        """Return the plan as a stand asks for it. Raises ``NothingToPlan``, ``ShakerError``."""
        values = stand.values
        limits = {name: values[name] for name in SET_POINTS if name in values}
        channel = replace(self._plan.channel, **limits)
        return _outcome(self._make(channel, self._shakers[values[SHAKER]], values[MASS]))


def _controls(plan: ChannelPlan, shakers: Sequence[str]) -> tuple[AnyControl, ...]:
    channel, unit = plan.channel, plan.channel.input_unit.shown
    mass = Control(name=MASS, label="moving mass, kg", kind="share", value=plan.moving_mass_kg, most=2.0, step=0.01)
    levels = [(name, getattr(channel, name)) for name in SET_POINTS]
    return (
        Choice(name=SHAKER, label="shaker", options=tuple((name, name) for name in shakers), value=plan.shaker.id),
        mass,
        *(
            Control(name=name, label=f"{name}, {unit}", kind="share", value=level, most=3.0 * level)
            for name, level in levels
            if level is not None
        ),
    )


def _outcome(plan: ChannelPlan) -> Outcome:
    gaps = len(plan.out_of_reach)
    return Outcome(
        answer=f"{plural(gaps, 'point')} out of reach" if gaps else "all within reach",
        figure=_figure(plan),
        readings=table_of((), ()),
        summary=gaps_table(plan).to_html(),
        reasons=lambda: "".join(table.to_html() for table in points_tables(plan)),
        result=plan,
        grips=tuple(
            Grip(control=name, pane=0, along="y") for name in SET_POINTS if getattr(plan.channel, name) is not None
        ),
    )


def _figure(plan: ChannelPlan) -> Data:
    figure = LightFigure(HEIGHT)
    draw_plan(plan, axes_grid(figure, top=38.0, right=64.0)[0][0])
    data = figure.data()
    for pane in data["panes"]:
        pane["ratio"] = False
    return data | {"text": plan_text(plan)}
