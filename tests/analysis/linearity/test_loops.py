"""4 to 20 mA loops: zero and span told apart, tolerances in % of span, failure signals that are no measurement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import CHANNEL, REFERENCE, SHORT, make_case
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.analysis.site.margins import worst_margin
from vibcal_nb.display.band_response.band_statements import word_band_response
from vibcal_nb.display.linearity.linearity_statements import word_linearity
from vibcal_nb.model.current_loop import is_failure_signal, is_loop, is_measurement
from vibcal_nb.model.equipment import Offset, ReferenceBand
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.units import parse_unit

LOOP = replace(
    CHANNEL,
    rotors=(),
    band=None,
    sensor=None,
    input_unit=parse_unit("mm/s rms"),
    output_unit=parse_unit("mA dc"),
    nominal_sensitivity=0.64,
    output_zero=4.0,
    full_scale=25.0,
    tolerance=Tolerance(span_pct=1.0),
)
LEVELS = np.array([0.5, 4.0, 8.0, 12.0, 16.0, 20.0, 25.0])


FINE = replace(REFERENCE, uncertainty=(ReferenceBand(from_hz=1.0, to_hz=1000.0, expanded_pct=0.2, k=2.0),))


def loop(output, *, levels=LEVELS, channel=LOOP, **more):
    """Return a case whose reference is fine enough to judge 1 % of span by."""
    case = make_case("linearity", np.full(len(levels), 25.0), output, applied=levels, channel=channel, **more)
    return replace(case, references=(FINE,))


def at_one_speed(case):
    return analyse_linearity(case).frequencies[0]


def test_a_zero_of_4_05_ma_and_an_exact_gain_are_told_apart():
    """Closed form: 0.05 mA of 16 mA is 0.3125 % of span; the slope is exact."""
    case = loop(4.05 + 0.64 * LEVELS)
    found = at_one_speed(case)
    assert found.verdict == "pass"
    assert found.zero.value_pct == pytest.approx(0.3125, abs=1e-9)
    assert found.zero.basis == "intercept"
    assert found.line.deviation_pct == pytest.approx(0.0, abs=1e-9)
    assert [p.value_pct for p in found.points] == pytest.approx([0.3125] * 7, abs=1e-9)
    entry = result_entry(analyse_linearity(case))["quantities"][0]
    assert entry["zero_error_span_pct"] == pytest.approx(0.3125, abs=1e-6)
    assert entry["span_error_pct"] == pytest.approx(0.0, abs=1e-6)
    said = " ".join(word_linearity(analyse_linearity(case)).findings)
    assert "zero is off by +0.31" in said
    assert "0.5 mm/s" not in said


def test_in_percent_of_reading_the_same_loop_fails_at_its_lowest_level():
    """0.05 mA are 15.625 % of the 0.32 mA that 0.5 mm/s give: true, and no reason for a scale of span to fail."""
    found = at_one_speed(loop(4.05 + 0.64 * LEVELS, channel=replace(LOOP, tolerance=Tolerance(reading_pct=5.0))))
    assert found.points[0].value_pct == pytest.approx(15.625)
    assert found.verdict == "fail"


@pytest.mark.parametrize(("limit", "verdict"), [(0.5, "pass"), (0.2, "fail")])
def test_the_zero_has_a_limit_of_its_own(limit, verdict):
    channel = replace(LOOP, zero_tolerance_span_pct=limit)
    result = analyse_linearity(loop(4.05 + 0.64 * LEVELS, channel=channel))
    assert result.verdict == verdict
    assert result.frequencies[0].zero.decision.verdict == verdict
    if verdict == "fail":
        assert worst_margin(result).name == "zero at 25 Hz"


def test_a_reading_at_no_level_is_the_zero_and_is_judged_on_the_scale_of_span():
    levels = np.array([0.0, *LEVELS])
    found = at_one_speed(loop(np.array([4.20, *(4.0 + 0.64 * LEVELS)]), levels=levels))
    assert found.zero.basis == "zero reading"
    assert found.zero.value_pct == pytest.approx(100.0 * 0.20 / 16.0)
    assert found.points[0].verdict == "fail"
    assert found.points[0].value_pct == pytest.approx(1.25)
    assert found.verdict == "fail"


def test_the_uncertainty_of_a_zero_reading_is_the_readouts_and_its_own():
    """At rest the reference makes no error; 0.2 % (k = 2) of 4 mA are 0.004 mA, which is 0.025 % of span."""
    case = loop(np.array([4.0, *(4.0 + 0.64 * LEVELS)]), levels=np.array([0.0, *LEVELS]))
    point = at_one_speed(case).points[0]
    assert point.common_u_pct == pytest.approx(100.0 * 0.001 * 4.0 / 16.0)
    assert at_one_speed(case).zero.expanded.u == pytest.approx(point.expanded.u)


def test_seven_readings_of_3_6_ma_are_a_failure_signal_and_no_sensitivity():
    result = analyse_linearity(loop(np.full(7, 3.600)))
    found = result.frequencies[0]
    assert result.verdict == "fail"
    assert found.line is None
    assert found.zero is None
    assert {p.verdict for p in found.points} == {"fail"}
    assert {p.value_pct for p in found.points} == {None}
    said = word_linearity(result).findings[0]
    assert "3.6 mA dc at 7 of 7 readings is a failure signal" in said
    entry = result_entry(result)["quantities"][0]
    assert entry["sensitivity"] is None
    assert "failure signal" in entry["undetermined"]["sensitivity"]
    assert [p["failure_signal"] for p in entry["points"]] == [True] * 7


def test_a_failure_signal_is_never_fitted():
    good = 4.0 + 0.64 * LEVELS
    broken = good.copy()
    broken[3] = 3.5
    found, without = (
        at_one_speed(loop(broken)),
        at_one_speed(loop(np.delete(good, 3), levels=np.delete(LEVELS, 3))),
    )
    assert found.line.sensitivity == pytest.approx(without.line.sensitivity, rel=1e-12)
    assert found.verdict == "fail"
    assert without.verdict == "pass"


def test_beyond_full_scale_a_loop_may_signal_and_within_it_may_not():
    beyond = loop(np.array([*(4.0 + 0.64 * LEVELS), 21.5]), levels=np.array([*LEVELS, 28.0]))
    within = loop(np.array([*(4.0 + 0.64 * LEVELS), 21.5]), levels=np.array([*LEVELS, 24.0]))
    assert at_one_speed(beyond).verdict == "pass"
    assert at_one_speed(within).verdict == "fail"


def test_a_failure_signal_that_a_person_left_out_is_not_judged_and_is_taken_anew():
    levels = np.array([*LEVELS, 0.5])
    output = np.array([3.6, *(4.0 + 0.64 * levels[1:])])
    found = at_one_speed(loop(output, levels=levels, exclude={0: "loop opened"}))
    assert found.points[0].verdict is None
    assert found.verdict == "pass"
    left = analyse_linearity(loop(output[:-1], exclude={0: "loop opened"}))
    assert (left.verdict, [gate.gate for gate in left.gates]) == ("not verified", ["excluded readings"])


def test_with_a_reference_of_1_percent_1_percent_of_span_cannot_be_judged_by_simple_acceptance():
    case = loop(4.0 + 0.64 * LEVELS)
    coarse = analyse_linearity(replace(case, references=(REFERENCE,)))
    assert (coarse.verdict, [gate.gate for gate in coarse.gates]) == ("not verified", ["uncertainty too large"])
    assert analyse_linearity(case).verdict == "pass"


@pytest.mark.parametrize(
    ("current", "failure", "measurement"),
    [
        *((3.59, True, False), (3.6, True, False), (3.61, False, False), (3.79, False, False), (3.8, False, True)),
        *((12.0, False, True), (20.5, False, True), (20.51, False, False), (20.99, False, False), (21.0, True, False)),
    ],
)
def test_the_ranges_are_those_of_namur_ne_43(current, failure, measurement):
    """3.8 to 20.5 mA measure, 3.6 mA and less or 21 mA and more signal a failure (NAMUR NE 43, from memory)."""
    for value, unit in ((current, "mA dc"), (current / 1000.0, "A dc")):
        assert is_failure_signal(value, parse_unit(unit)) is failure
        assert is_measurement(value, parse_unit(unit)) is measurement


def test_only_a_direct_current_with_a_live_zero_of_4_ma_is_a_loop():
    assert is_loop(parse_unit("mA dc"), 4.0)
    assert is_loop(parse_unit("A dc"), 0.004)
    assert not is_loop(parse_unit("mA dc"), 0.0)
    assert not is_loop(parse_unit("V dc"), 4.0)
    plain = replace(LOOP, output_zero=0.0)
    assert scale_readings(loop(np.full(7, 3.0), channel=plain)).used.all()


tolerances = st.builds(
    Tolerance,
    reading_pct=st.floats(0.5, 10.0) | st.none(),
    span_pct=st.floats(0.1, 5.0),
    absolute=st.floats(0.01, 2.0) | st.none(),
    rule=st.sampled_from(["sum", "larger"]),
)


@SHORT
@given(tolerance=tolerances, errors=st.lists(st.floats(-3.0, 3.0), min_size=7, max_size=7))
def test_every_reading_passes_exactly_where_its_error_is_allowed(tolerance, errors):
    """By simple acceptance, in input units, with no formula of the package."""
    errors = np.array(errors)
    found = at_one_speed(loop(4.0 + 0.64 * (LEVELS + errors), channel=replace(LOOP, tolerance=tolerance)))
    for x, error, point in zip(LEVELS, errors, found.points, strict=True):
        parts = [(tolerance.reading_pct or 0.0) * x / 100.0, tolerance.span_pct * 25.0 / 100.0]
        parts.append(tolerance.absolute or 0.0)
        allowed = sum(parts) if tolerance.rule == "sum" else max(parts)
        if point.failure_signal or abs(abs(error) - allowed) < 1e-9:
            continue
        within = point.verdict in ("pass", "conditional pass")
        assert within == (abs(error) < allowed)


@given(pct=st.floats(0.1, 20.0), level=st.floats(0.01, 1e4))
def test_a_tolerance_of_the_reading_allows_the_same_percentage_at_every_level(pct, level):
    assert Tolerance(reading_pct=pct).allowed_pct(level, full_scale=None) == pct


def test_several_parts_count_by_their_rule():
    both = Tolerance(reading_pct=2.0, absolute=0.2)
    assert both.allowed(10.0, full_scale=None) == pytest.approx(0.4)
    assert replace(both, rule="larger").allowed(10.0, full_scale=None) == pytest.approx(0.2)
    assert replace(both, rule="larger").allowed(20.0, full_scale=None) == pytest.approx(0.4)
    assert both.scaled(3.0) == Tolerance(reading_pct=6.0, absolute=0.6000000000000001)
    with pytest.raises(ValueError, match="needs the channel's full_scale"):
        Tolerance(span_pct=1.0).allowed(1.0, full_scale=None)


def test_a_wider_tolerance_keeps_the_shares_of_its_parts():
    case = loop(4.0 + 0.64 * LEVELS, channel=replace(LOOP, tolerance=Tolerance(reading_pct=2.0, span_pct=1.0)))
    wider = case.with_tolerance(6.0).channel.tolerance
    assert (wider.reading_pct, wider.span_pct) == (pytest.approx(4.0), pytest.approx(2.0))


def test_a_failure_signal_in_the_band_fails_and_is_named():
    channel = replace(LOOP, band=CHANNEL.band)
    hz = np.array([10.0, 20.0, 40.0, 60.0, 80.0, 120.0, 200.0, 400.0, 800.0])
    good = 4.0 + 0.64 * 10.0 * np.sqrt(1.0 / (1.0 + (20.0 / hz) ** 4) / (1.0 + (hz / 400.0) ** 4))
    broken = good.copy()
    broken[3] = 3.6
    case = make_case("band-response", hz, broken, channel=channel)
    result = analyse_band_response(case)
    assert result.points[3].verdict == "fail"
    assert result.verdict == "fail"
    assert analyse_band_response(make_case("band-response", hz, good, channel=channel)).points[3].verdict == "pass"
    assert "In the band 3.6 mA dc at 1 of 9 readings is a failure signal" in word_band_response(result).findings[0]


def with_offset(case, expanded=0.016, unit="mA dc"):
    """A meter whose certificate states 0.1 % of 16 mA beside its part of the reading, k = 2."""
    readouts = tuple(replace(r, offset=Offset(expanded=expanded, unit=parse_unit(unit))) for r in case.readouts)
    return replace(case, readouts=readouts)


def test_a_readouts_part_of_span_is_in_every_reading_and_in_the_zero_and_not_in_the_slope():
    """u = 0.008 mA of 16 mA are 0.05 % of span, added in quadrature to what was there (JCGM 100:2008, 5.1.2)."""
    case = loop(np.array([4.0, *(4.0 + 0.64 * LEVELS)]), levels=np.array([0.0, *LEVELS]))
    before, after = at_one_speed(case), at_one_speed(with_offset(case))
    for one, other in zip(before.points, after.points, strict=True):
        assert other.expanded.u == pytest.approx(np.hypot(one.expanded.u, 0.05), rel=1e-9)
    assert after.zero.expanded.u == pytest.approx(np.hypot(before.zero.expanded.u, 0.05), rel=1e-9)
    assert after.line.u_intercept == pytest.approx(np.hypot(before.line.u_intercept, 0.008), rel=1e-9)
    assert after.line.deviation_expanded.u == pytest.approx(before.line.deviation_expanded.u, rel=1e-12)


def test_a_part_of_span_in_another_quantity_says_nothing_of_a_current():
    case = loop(4.0 + 0.64 * LEVELS)
    plain, volts = at_one_speed(case), at_one_speed(with_offset(case, unit="V dc"))
    assert [p.expanded.u for p in volts.points] == [p.expanded.u for p in plain.points]


def test_in_a_band_only_the_difference_of_the_outputs_is_left_of_it():
    """One error e in all outputs moves y_i/y_r by e (1/y_i - 1/y_r): closed form."""
    channel = replace(LOOP, band=CHANNEL.band)
    hz = np.array([20.0, 40.0, 60.0, 80.0, 120.0, 200.0])
    y = np.array([4.5, 6.2, 6.4, 6.4, 6.4, 3.2])
    case = make_case("band-response", hz, 4.0 + y, channel=channel)
    before, after = (analyse_band_response(each).points for each in (case, with_offset(case)))
    for one, other, output in zip(before, after, y, strict=True):
        added = one.value_pct * 0.008 * abs(1.0 / output - 1.0 / 6.4)
        assert other.expanded.u == pytest.approx(np.hypot(one.expanded.u, added), rel=1e-9)
