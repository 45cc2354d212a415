"""The plan for the channels of an asset: one shaker for all, the one that leaves least out of reach."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from vibcal_nb.analysis.planning.channel_plan import plan_channel
from vibcal_nb.analysis.planning.plan import ChannelPlan
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
    without_mass: bool = False,
) -> tuple[ChannelPlan, ...]:
    """Plan all channels on the one of ``shakers`` with which least is out of reach, then most points are planned.

    ``others`` are not used, and named where they would cover what is out of reach. A shaker that may not carry
    a channel's payload is used only where no other is there. A channel of which nothing can be planned has no points,
    and says why among its cautions; ``without_mass`` as in ``plan_channel``. Raises ``NothingToPlan`` and
    ``ShakerError`` with a sentence where nothing can be planned of any.
    """
    wanted, tests = tuple(channels), tuple(tests)
    plans: list[list[ChannelPlan]] = []
    reasons = []
    for shaker in shakers:
        own = []
        for channel in wanted:
            try:
                plan = plan_channel(
                    channel,
                    shaker=shaker,
                    others=(*shakers, *others),
                    moving_mass_kg=moving_mass_kg,
                    tests=tests,
                    without_mass=without_mass,
                )
            except NothingToPlan as nothing:
                reasons.append(nothing)
                plan = _no_plan(channel, shaker, str(nothing).removesuffix("."))
            own.append(plan)
        if any(plan.points for plan in own):
            plans.append(own)
    if not plans:
        raise reasons[0] if reasons else NothingToPlan("There is no shaker to plan for.")
    best: list[ChannelPlan] = min(plans, key=_cost)
    return tuple(best)


def _no_plan(channel: Channel, shaker: Shaker, why: str) -> ChannelPlan:
    return ChannelPlan(
        channel=channel,
        shaker=shaker,
        moving_mass_kg=channel.moving_mass_kg or 0.0,
        points=(),
        out_of_reach=(),
        cautions=(why,),
        mass_known=channel.moving_mass_kg is not None,
    )


def _cost(plans: Sequence[ChannelPlan]) -> tuple[int, int, int]:
    overloaded = sum(plan.moving_mass_kg > (plan.shaker.payload_kg or float("inf")) for plan in plans)
    return overloaded, sum(len(plan.out_of_reach) for plan in plans), -sum(len(plan.points) for plan in plans)
