"""What the planning notebook calls: the plan for one channel, and what a visit would be made with."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from vibcal_nb.analysis.planning.asset_plan import plan_asset
from vibcal_nb.analysis.planning.more_readings import PlanPower, suggest_more_readings
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.analysis.planning.planned_case import Instruments
from vibcal_nb.analysis.planning.power import find_power, smallest_gain_error_pct
from vibcal_nb.analysis.planning.simulated_faults import NO_FAULT, usual_faults
from vibcal_nb.inputs.load_asset import find_asset_folders, load_asset_folder, load_visit_file
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import VIBRATION, Shaker
from vibcal_nb.model.visit_folder import AssetFolder
from vibcal_nb.notebook.frame.parameters import check_parameters, require_number
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.notebook.touch.planned import PlanSubject
from vibcal_nb.notebook.touch.widget import touch_widget
from vibcal_nb.problems import NothingToPlan, ParameterError, one_of, shown

SEED = 20260519  # the same plan shows the same figures


@dataclass(frozen=True, kw_only=True, eq=False)
class OpenedPlan:
    """A plan with the instruments of its visit, the shakers there are, and the visit's folder."""

    plan: ChannelPlan
    instruments: Instruments
    shakers: tuple[Shaker, ...] = ()
    visit_folder: Path | None = None


def open_plan(
    namespace: Mapping[str, Any], *, visit_folder: str, channel: str, shaker: str, moving_mass_kg: float
) -> OpenedPlan:
    """Plan the visit that a notebook's parameters name; the visit's folder needs no readings yet.

    An empty ``shaker`` takes the one that reaches most, ``moving_mass_kg`` 0 the channel's own. Raises
    ``ParameterError``, ``InputRefused``, ``NothingToPlan``, ``ShakerError``, shown as sentences.
    """
    show_refusals_plainly()
    parameters = ("visit_folder", "channel", "shaker", "moving_mass_kg")
    check_parameters(namespace, parameters)
    require_number("moving_mass_kg", moving_mass_kg, lambda kg: 0.0 <= kg < math.inf, wanted="a mass in kg, or 0")
    folder = load_asset_folder(find_asset_folders(Path(visit_folder))[0])
    if channel not in folder.asset.channels:
        raise ParameterError(f"There is no channel {shown(channel)}; {one_of(channel, folder.asset.channels)}.")
    shakers = folder.equipment.shakers
    chosen = tuple(item for item in shakers if shaker in ("", item.id))
    if not chosen:
        raise ParameterError(f"There is no shaker {shown(shaker)}; {one_of(shaker, [s.id for s in shakers])}.")
    (plan,) = plan_asset(
        [folder.asset.channels[channel]], shakers=chosen, others=shakers, moving_mass_kg=moving_mass_kg or None
    )
    if not plan.points:
        raise NothingToPlan(f"{plan.cautions[0]}.")
    path = Path(visit_folder).absolute()
    return OpenedPlan(plan=plan, instruments=_instruments(folder, path), shakers=shakers, visit_folder=path)


def explore_plan(opened: OpenedPlan) -> None:
    """Show the panel of a plan; in batch, one line in its place."""
    text = "Shaker, mass and set points can be changed here when the notebook is opened and run."
    show.widget(lambda: touch_widget(plan_panel(opened)), otherwise=text)


def plan_panel(opened: OpenedPlan) -> TouchPanel:
    """Return the panel of a plan; what is found there is kept in the visit's folder."""

    def make(channel: Channel, shaker: Shaker, mass: float) -> ChannelPlan:
        (plan,) = plan_asset([channel], shakers=(shaker,), others=opened.shakers, moving_mass_kg=mass)
        if not plan.points:
            raise NothingToPlan(f"{plan.cautions[0]}.")
        return plan

    visit = opened.visit_folder
    subject = PlanSubject(opened.plan, opened.shakers, make, visit="" if visit is None else visit.name)
    return TouchPanel(subject, visit=visit)


def _instruments(folder: AssetFolder, visit_folder: Path) -> Instruments:
    visit = load_visit_file(visit_folder)
    references, readouts = folder.equipment.used_by(visit.equipment)
    vibration = tuple(item for item in references if item.quantity == VIBRATION)
    return Instruments(visit=visit, references=vibration, readouts=readouts)


def assess_power(opened: OpenedPlan) -> PlanPower:
    """Find what the plan finds, and what more readings would add; the same draws each time."""
    plan, instruments = opened.plan, opened.instruments
    faults = usual_faults(plan.channel)

    def rng() -> np.random.Generator:
        return np.random.default_rng(SEED)

    return PlanPower(
        figures=find_power(plan, (NO_FAULT, *faults), instruments=instruments, rng=rng()),
        smallest_gain_error_pct=smallest_gain_error_pct(plan, instruments=instruments, rng=rng()),
        suggestions=suggest_more_readings(plan, faults, instruments=instruments, rng=rng()),
    )
