"""The plan for the channels of an asset: one shaker for all, the one that leaves least out of reach."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from vibcal_nb.analysis.planning.channel_plan import ChannelPlan, plan_channel
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.model.names import SHAKER_TESTS
from vibcal_nb.problems import NothingToPlan


def plan_asset(
    channels: Iterable[Channel],
    *,
    shakers: Sequence[Shaker],
    others: Sequence[Shaker] = (),
    moving_mass_kg: float | None = None,
    tests: Iterable[str] = SHAKER_TESTS,
) -> tuple[ChannelPlan, ...]:
    """Plan all channels on the one of ``shakers`` with which least is out of reach, then most points are planned.

    ``others`` are not used, and named where they would cover what is out of reach. A shaker that may not carry
    a channel's payload is used only where no other is there. Raises ``NothingToPlan`` and ``ShakerError`` with
    a sentence where nothing can be planned.
    """
    wanted, tests = tuple(channels), tuple(tests)
    plans: list[list[ChannelPlan]] = []
    reasons = []
    for shaker in shakers:
        try:
            plans.append(
                [
                    plan_channel(
                        channel,
                        shaker=shaker,
                        others=(*shakers, *others),
                        moving_mass_kg=moving_mass_kg,
                        tests=tests,
                    )
                    for channel in wanted
                ]
            )
        except NothingToPlan as nothing:
            reasons.append(nothing)
    if not plans:
        raise reasons[0] if reasons else NothingToPlan("There is no shaker to plan for.")
    best: list[ChannelPlan] = min(plans, key=_cost)
    return tuple(best)


def _cost(plans: Sequence[ChannelPlan]) -> tuple[int, int, int]:
    overloaded = sum(plan.moving_mass_kg > (plan.shaker.payload_kg or float("inf")) for plan in plans)
    return overloaded, sum(len(plan.out_of_reach) for plan in plans), -sum(len(plan.points) for plan in plans)
