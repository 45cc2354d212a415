"""Differences planted in what a site states, through the form in which a record keeps it: each is named, alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.support.kept.sealed_record import executed, keep
from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.asset import PhaseLimit, PhaseSpecification, TemperatureLimit
from vibcal_nb.model.case import select_case
from vibcal_nb.model.equipment import ReferenceSensitivity, SensitivityPoint, Shaker
from vibcal_nb.model.relay.safety_trail import Inhibit, SafetyTrail
from vibcal_nb.model.relay.set_points import VotingGroup
from vibcal_nb.records.compare.comparison import compare_records, open_record
from vibcal_nb.records.compare.comparison_words import comparison_lines
from vibcal_nb.records.inputs_used.record_inputs import state_test

POINTS = tuple(
    SensitivityPoint(frequency_hz=f, value=v, expanded_pct=1.0, k=2.0)
    for f, v in ((10.0, 1.011), (20.0, 1.004), (80.0, 1.0), (160.0, 1.001), (400.0, 1.006), (1000.0, 1.013))
)
PHASE = PhaseSpecification(limits=(PhaseLimit(frequency_hz=80.0, min_deg=-10.0, max_deg=10.0),))
HOT = (TemperatureLimit(temperature_c=200.0, min_pct=-3.0, max_pct=3.0),)
GROUP = VotingGroup(
    tag="STG-1-TRIP", logic="2oo3", needed=2, channels=("STG-1-V12", "STG-1-V22", "STG-1-V32"), set_point="trip"
)
INHIBIT = Inhibit(permit="P-31", channels=("STG-1-V12",), off="08:10", by="Operator A", told=("Operator B",))


def sensitivity(points):
    return ReferenceSensitivity(output="pC", input="m/s2", points=points)


@pytest.fixture(scope="module")
def case():
    """A case that states all that is changed below."""
    found = select_case(
        load_visit(DEMO / "STG-1" / "2026-05-19"), channel="STG-1-V12", test="linearity", condition="as-found"
    )
    channel = replace(found.channel, phase=PHASE, sensor=replace(found.channel.sensor, hot=HOT), group=GROUP)
    reference = replace(found.references[0], sensitivity=sensitivity(POINTS))
    readings = (replace(found.readings[0], temperature_c=200.0, phase_deg=-2.0), *found.readings[1:])
    shaker = Shaker(id="SHK-26", cross_motion_pct=2.0)
    return replace(found, channel=channel, references=(reference,), readings=readings, shakers=(shaker,))


def of_channel(**changes):
    return lambda case: replace(case, channel=replace(case.channel, **changes))


def of_reference(**changes):
    return lambda case: replace(case, references=(replace(case.references[0], **changes),))


def of_row(**changes):
    return lambda case: replace(case, readings=(replace(case.readings[0], **changes), *case.readings[1:]))


def of_visit(**changes):
    return lambda case: replace(case, visit=replace(case.visit, **changes))


def of_part(part, **changes):
    return lambda case: replace(
        case, channel=replace(case.channel, **{part: replace(getattr(case.channel, part), **changes)})
    )


LIMITS = "limits of the channel, "
CERTIFICATE = "certificate of REF-26, "
ROW = "row 65 of linearity as-found, "
MORE = SensitivityPoint(frequency_hz=2000.0, value=1.03, expanded_pct=2.0, k=2.0)
PLANTED = {
    "a limit of the phase": (
        of_channel(phase=PhaseSpecification(limits=(replace(PHASE.limits[0], max_deg=5.0),))),
        LIMITS + "phase, limits 1, max_deg: from 10.0 to 5.0",
    ),
    "a limit of the phase taken out": (
        of_channel(phase=None),
        LIMITS + "phase: from limits ((frequency_hz 80.0, max_deg 10.0, min_deg -10.0)) to nothing",
    ),
    "a limit of the band": (
        lambda case: of_part("band", limits=(replace(case.channel.band.limits[0], max_pct=95.0),))(case),
        LIMITS + "band, limits 1, max_pct: from 92.0 to 95.0",
    ),
    "where the band is flat": (
        of_part("band", flat_hz=(40.0, 250.0)),
        LIMITS + "band, flat_hz 2: from 200.0 to 250.0",
    ),
    "a corner": (of_part("band", corner_low_hz=10.0), LIMITS + "band, corner_low_hz: from 20.0 to 10.0"),
    "what is allowed when hot": (
        of_part("sensor", hot=(replace(HOT[0], max_pct=5.0),)),
        LIMITS + "sensor, hot 1, max_pct: from 3.0 to 5.0",
    ),
    "nominal sensitivity of the sensor": (
        of_part("sensor", nominal_sensitivity=5.2),
        LIMITS + "sensor, nominal_sensitivity: from 5.0 to 5.2",
    ),
    "sensitivity of the module": (
        of_part("module", nominal_sensitivity=1.6),
        LIMITS + "module, nominal_sensitivity: from 1.5915 to 1.6",
    ),
    "logic of a group": (of_part("group", logic="1oo3"), LIMITS + "group, logic: from 2oo3 to 1oo3"),
    "a member of a group": (
        of_part("group", channels=("STG-1-V12", "STG-1-V22", "STG-1-V31")),
        LIMITS + "group, channels 3: from STG-1-V32 to STG-1-V31",
    ),
    "set point of a group": (of_part("group", set_point="alert"), LIMITS + "group, set_point: from trip to alert"),
    "full scale": (of_channel(full_scale=50.0), LIMITS + "full_scale: from 25.0 to 50.0"),
    "an item more": (
        lambda case: replace(case, channel=replace(case.channel, items=(*case.channel.items, case.channel.items[1]))),
        LIMITS + "items 5: from nothing to length_m 6.0, part cable, serial K-1120, type hardline",
    ),
    "a value of a reference's table": (
        of_reference(sensitivity=sensitivity((*POINTS[:2], replace(POINTS[2], value=1.002), *POINTS[3:]))),
        CERTIFICATE + "sensitivity, points 3, value: from 1.0 to 1.002",
    ),
    "a frequency more in a reference's table": (
        of_reference(sensitivity=sensitivity((*POINTS, MORE))),
        CERTIFICATE + "sensitivity, points 7: from nothing to expanded_pct 2.0, frequency_hz 2000.0, k 2.0, value 1.03",
    ),
    "U of a reference over a band": (
        lambda case: of_reference(
            uncertainty=(
                replace(case.references[0].uncertainty[0], expanded_pct=3.0),
                *case.references[0].uncertainty[1:],
            )
        )(case),
        CERTIFICATE + "uncertainty 1, expanded_pct: from 2.0 to 3.0",
    ),
    "until when a certificate holds": (
        of_reference(due=date(2027, 6, 30)),
        CERTIFICATE + "due: from 2026-06-30 to 2027-06-30",
    ),
    "serial of a reference": (of_reference(serial="KF-0418"), CERTIFICATE + "serial: from KF-0417 to KF-0418"),
    "cross motion of a shaker": (
        lambda case: replace(case, shakers=(replace(case.shakers[0], cross_motion_pct=9.0),)),
        "shaker SHK-26, cross_motion_pct: from 2.0 to 9.0",
    ),
    "temperature of a row": (of_row(temperature_c=250.0), ROW + "temperature_c: from 200.0 to 250.0"),
    "phase of a row": (of_row(phase_deg=-7.5), ROW + "phase_deg: from -2.0 to -7.5"),
    "why a row is left out": (of_row(exclude="cable moved"), ROW + "exclude: from nothing to cable moved"),
    "a note on a row": (of_row(note="seen twice"), ROW + "note: from nothing to seen twice"),
    "direction of a row": (of_row(direction="falling"), ROW + "direction: from rising to falling"),
    "digits of a row": (of_row(applied_decimals=2), ROW + "applied_decimals: from 3 to 2"),
    "who reviewed, as typed": (
        of_visit(reviewed_by="Engineer E"),
        "visit.toml, reviewed_by: from Engineer D to Engineer E",
    ),
    "protection inhibited": (
        of_visit(trail=SafetyTrail(inhibit=INHIBIT)),
        "visit.toml, trail: from nothing to inhibit (by Operator A, channels (STG-1-V12), off 08:10, permit P-31, "
        "told (Operator B))",
    ),
}


def record(folder, case):
    return open_record(keep(folder, executed(inputs=state_test(case))))


@pytest.mark.parametrize("name", PLANTED)
def test_what_a_site_states_otherwise_is_named_and_nothing_else(tmp_path, case, name):
    change, expected = PLANTED[name]
    comparison = compare_records(record(tmp_path / "a", case), record(tmp_path / "b", change(case)))
    (said,) = comparison.made_from
    assert said == expected
    assert f"  {said}" in list(comparison_lines(comparison))
    assert not (comparison.subject or comparison.said or comparison.made_with or comparison.numbers or comparison.cells)
