"""Equipment that keeps a pass from being said: none named, run out, calibrated later, used outside its certificate."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, READOUT, REFERENCE, make_case
from vibcal_nb.analysis.gates.equipment_gates import equipment_gates
from vibcal_nb.analysis.gates.gate import EQUIPMENT_GATES, GATES
from vibcal_nb.model.asset import ModuleSpecification
from vibcal_nb.model.equipment import ReferenceBand
from vibcal_nb.units import parse_unit

HZ = np.array([40.0, 80.0, 160.0])
DAY = date(2026, 5, 19)
MODULE = ModuleSpecification(
    input_unit=parse_unit("pC pk"), output_unit=parse_unit("mV pk"), nominal_sensitivity=1.6, tolerance_pct=5.0
)


def gates_of(test="band-response", *, channel=CHANNEL, decision=None, **changes):
    case = replace(make_case(test, HZ, np.full(3, 40.0), channel=channel), **changes)
    if decision is not None:
        case = replace(case, visit=replace(case.visit, decision=replace(case.visit.decision, **decision)))
    return list(equipment_gates(case, HZ))


def names(**how):
    return [gate.gate for gate in gates_of(**how)]


def test_equipment_in_order_meets_no_gate():
    assert gates_of() == []
    assert set(EQUIPMENT_GATES) < set(GATES)
    assert len(set(GATES)) == len(GATES)


def test_without_a_reference_no_level_is_known():
    (gate,) = gates_of(references=())
    assert gate.gate == "no reference"
    assert gate.sentence == (
        "The visit names no reference for vibration: name the one that was used in visit.toml under equipment, and "
        "describe it in equipment.toml; until then every U leaves its part out"
    )
    (gate,) = gates_of("module-alone", channel=replace(CHANNEL, module=MODULE), references=())
    assert gate.found == "The visit names no reference for charge"


def test_without_a_readout_the_output_is_not_known_unless_the_reference_reads_it():
    (gate,) = gates_of(readouts=())
    assert gate.gate == "no readout"
    assert "includes_readout = true" in gate.remedy
    one_box = replace(REFERENCE, includes_readout=True)
    assert gates_of(readouts=(), references=(one_box,)) == []
    low, high = (
        replace(one_box, id=name, includes_readout=reads, uncertainty=(ReferenceBand(**band, expanded_pct=1.0, k=2.0),))
        for name, reads, band in (
            ("LOW", True, {"from_hz": 1.0, "to_hz": 60.0}),
            ("HIGH", False, {"from_hz": 60.0, "to_hz": 1000.0}),
        )
    )
    assert names(readouts=(), references=(low, high)) == ["no readout"]


@pytest.mark.parametrize("readout", [False, True])
@pytest.mark.parametrize(("days", "grace", "met"), [(0, 0, False), (1, 0, True), (14, 14, False), (15, 14, True)])
def test_a_certificate_holds_up_to_its_last_day_and_the_days_of_grace(readout, days, grace, met):
    due = DAY - timedelta(days=days)
    kit = {"readouts": (replace(READOUT, due=due),)} if readout else {"references": (replace(REFERENCE, due=due),)}
    found = gates_of(decision={"grace_days": float(grace)}, **kit)
    assert [gate.gate for gate in found] == (["certificate had run out"] if met else [])
    if met:
        assert f"{days} day" in found[0].found
        assert due.isoformat() in found[0].found


def test_a_certificate_of_a_later_day_says_nothing_of_this_one():
    later = DAY + timedelta(days=1)
    assert names(references=(replace(REFERENCE, calibrated=later),)) == ["calibrated after the visit"]
    assert names(readouts=(replace(READOUT, calibrated=later),)) == ["calibrated after the visit"]
    assert names(readouts=(replace(READOUT, calibrated=DAY),)) == []


def test_only_the_reference_that_a_reading_takes_counts_and_every_readout():
    """The low-frequency reference has run out and is not used here; which readout read, nothing tells."""
    stale = date(2025, 1, 10)
    low = replace(
        REFERENCE, id="LOW", due=stale, uncertainty=(ReferenceBand(from_hz=1, to_hz=20, expanded_pct=1, k=2),)
    )
    assert names(references=(low, REFERENCE)) == []
    assert names(readouts=(READOUT, replace(READOUT, id="OLD", due=stale))) == ["certificate had run out"]


def test_frequencies_outside_the_certificate_are_named():
    bands = tuple(
        ReferenceBand(from_hz=low, to_hz=high, expanded_pct=1.0, k=2.0)
        for low, high in ((50.0, 70.0), (70.0, 100.0), (200.0, 400.0))
    )
    (gate,) = gates_of(references=(replace(REFERENCE, uncertainty=bands),))
    assert gate.gate == "outside the certificate"
    assert gate.found == (
        "Readings at 40, 160 Hz lie outside the certificate of REF-1, which covers 50 to 100 Hz and 200 to 400 Hz"
    )
