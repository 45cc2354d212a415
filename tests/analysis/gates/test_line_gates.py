"""Levels too close together for a line, and rotors at whose speed nothing was read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.gates.line_gates import line_gates
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.scaled_readings import scale_readings

ONE = replace(CHANNEL, rotors=CHANNEL.rotors[:1])


def case_of(levels, *, hz=50.0, channel=ONE, **how):
    levels = np.asarray(levels, float)
    return make_case(
        "linearity", np.broadcast_to(hz, levels.shape), 4.0 * levels, applied=levels, channel=channel, **how
    )


def gates_of(levels, **how):
    case = case_of(levels, **how)
    return list(line_gates(case, scale_readings(case)))


@pytest.mark.parametrize(
    ("levels", "met"),
    [([1.0, 1.04, 1.09], True), ([10.0, 15.0, 20.0], False), ([10.01, 15.0, 20.0], True), ([2.0, 20.0], False)],
)
def test_levels_span_half_of_the_highest_or_show_no_line(levels, met):
    found = gates_of(levels)
    assert [gate.gate for gate in found] == (["levels too close together"] if met else [])
    assert all(gate.concerns(50.0) and not gate.concerns(149.0) for gate in found)


def test_the_sentence_says_how_low_to_read():
    (gate,) = gates_of([1.0, 1.04, 1.09])
    assert gate.sentence == (
        "At 50 Hz the levels run only from 1 to 1.09 mm/s pk, which shows no line: read levels of 0.545 mm/s pk or "
        "less as well"
    )


def test_a_level_that_is_excluded_or_zero_does_not_widen_the_span():
    assert len(gates_of([2.0, 18.0, 19.0, 20.0], exclude={0: "knocked"})) == 1
    assert len(gates_of([0.0, 18.0, 19.0, 20.0])) == 1


def test_a_rotor_at_whose_speed_nothing_was_read_keeps_the_linearity_from_passing():
    result = analyse_linearity(case_of([2.0, 5.0, 10.0, 15.0, 20.0], channel=CHANNEL))
    (gate,) = result.gates
    assert (gate.gate, gate.frequency_hz, result.verdict) == ("rotor not tested", 149.0, "not verified")
    assert gate.found == "Linearity was not tested at the running speed of pinion (149 Hz)"
    assert [item.verdict for item in result.frequencies] == ["pass"]
    both = case_of(np.tile([2.0, 5.0, 10.0, 15.0, 20.0], 2), hz=np.repeat([50.2, 148.0], 5), channel=CHANNEL)
    assert (analyse_linearity(both).gates, analyse_linearity(both).verdict) == ((), "pass")


def test_of_a_module_alone_no_rotor_is_asked():
    case = replace(case_of([2.0, 5.0, 10.0], channel=CHANNEL), test="module-alone")
    assert list(line_gates(case, scale_readings(case))) == []
