"""Readings at no level: of an alternating output they tell the noise and bend no line, of a direct one its zero."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.display.linearity.linearity_statements import word_linearity
from vibcal_nb.display.linearity.linearity_tables import linearity_points
from vibcal_nb.units import parse_unit

LEVELS = np.array([1.0, 2.0, 5.0, 9.0, 14.0, 20.0])
ONE = replace(CHANNEL, rotors=CHANNEL.rotors[:1], nonlinearity_pct=2.0)


def analyse(noise, *, channel=ONE, levels=LEVELS):
    """Outputs as a true-rms readout shows them: signal and noise in quadrature."""
    x = np.append(0.0, levels)
    output = np.hypot(4.0 * x, noise)
    return analyse_linearity(
        make_case("linearity", np.full(x.size, 50.0), output, applied=x, channel=channel, decimals=4)
    )


@pytest.mark.parametrize("noise", [0.3, 1.0])
def test_a_zero_reading_of_an_alternating_channel_does_not_bend_its_line(noise):
    """With 0.3 and 1.0 mV of noise the sensitivity is off by less than its uncertainty, and no line misses zero."""
    with_zero = analyse(noise).frequencies[0]
    without = analyse_linearity(
        make_case("linearity", np.full(6, 50.0), np.hypot(4.0 * LEVELS, noise), applied=LEVELS, channel=ONE, decimals=4)
    ).frequencies[0]
    assert with_zero.line.sensitivity == without.line.sensitivity
    assert with_zero.line.nonlinearity_pct == without.line.nonlinearity_pct
    assert with_zero.line.deviation_pct == pytest.approx(0.0, abs=0.5)
    assert abs(with_zero.line.deviation_pct) < with_zero.line.deviation_expanded.U
    assert (with_zero.levels, with_zero.max_applied) == (6, 20.0)


def test_it_tells_the_noise_and_what_that_does_to_the_lowest_reading():
    """0.5 mV to the 4 mV of 1 mm/s: sqrt(1 + 1/64) - 1 = 0.78 %."""
    result = analyse(0.5)
    (remark,) = [text for text in word_linearity(result).remarks if "at no level" in text]
    assert remark == (
        "At 50 Hz the output at no level is 0.50 mV pk, which adds 0.8 % to the lowest reading if it is noise; no line "
        "goes through it"
    )
    table = linearity_points(result)[0]
    (at_no_level,) = [row.cells for row in table.rows if row.cells[0] == "2"]
    assert at_no_level[1:4] == ("0.0000", "0.5000", "–")  # with the digits that were written
    assert at_no_level[-1] == "–"  # no residual of a line that does not go through it
    assert result.plot() is not None


def test_of_a_direct_output_the_reading_at_no_level_is_the_zero_and_belongs_to_the_line():
    channel = replace(ONE, output_unit=parse_unit("mV dc"))
    x = np.append(0.0, LEVELS)
    case = make_case("linearity", np.full(7, 50.0), 4.0 * x + 0.2, applied=x, channel=channel, decimals=4)
    (item,) = analyse_linearity(case).frequencies
    assert item.levels == 7
    assert item.line.intercept == pytest.approx(0.2)
    assert item.noise_points == ()


def test_levels_of_zero_alone_are_no_line():
    x = np.zeros(3)
    case = make_case("linearity", np.full(3, 50.0), np.full(3, 0.3), applied=x, channel=ONE, decimals=2)
    (item,) = analyse_linearity(case).frequencies
    assert (item.line, item.levels, item.max_applied) == (None, 0, None)
