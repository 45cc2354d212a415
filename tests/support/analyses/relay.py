"""Cases of relays, votes and displays made by hand, without any file."""

from __future__ import annotations

from dataclasses import replace

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.model.asset import channel_of
from vibcal_nb.model.relay.check_rows import SetPointRow, VotingRow
from vibcal_nb.model.relay.set_points import VotingGroup
from vibcal_nb.units import parse_unit

RELAYED = replace(CHANNEL, alert=11.0, trip=18.0, full_scale=25.0)


def relay_case(rows, *, channel=RELAYED, **changes):
    """A case of rows (set point, level, acted, further fields); the direction may be among the further fields."""
    checks = tuple(
        SetPointRow(
            row=number,
            channel=channel.tag,
            test="set-point",
            condition="as-found",
            set_point=name,
            applied=level,
            acted=acted,
            **{"frequency_hz": 50.0, "applied_unit": parse_unit("mm/s pk"), **dict(*more)},
        )
        for number, (name, level, acted, *more) in enumerate(rows, start=2)
    )
    case = make_case("linearity", [50.0], [40.0], channel=channel)
    return replace(case, test="set-point", readings=(), readouts=(), checks=checks, **changes)


def voting_case(logic, states, *, tags=("T1", "T2", "T3", "T4")):
    """A case of a group: ``states`` are (tags in trip, acted)."""
    needed, count = int(logic[0]), int(logic[-1])
    group = VotingGroup(tag="G", logic=logic, needed=needed, channels=tuple(tags[:count]), set_point="trip")
    channel = channel_of(group, input_unit=CHANNEL.input_unit, output_unit=CHANNEL.output_unit)
    rows = tuple(
        VotingRow(row=number, channel="G", test="voting", condition="as-found", in_trip=tuple(state), acted=acted)
        for number, (state, acted) in enumerate(states, start=2)
    )
    case = make_case("linearity", [50.0], [40.0])
    return replace(case, channel=channel, test="voting", readings=(), references=(), readouts=(), checks=rows)
