"""Band response from readings to verdict: truth from scipy.signal's filters, gaps, odd tables, and laws."""

from __future__ import annotations

import math
from dataclasses import replace

import GTC
import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from tests.support.readings.cases import (
    BAND,
    CHANNEL,
    READOUT,
    REFERENCE,
    SHORT,
    butterworth,
    in_units,
    make_case,
    sane,
)
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.model.asset import BandSpecification, ResponseLimit
from vibcal_nb.model.equipment import ReferenceBand
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.units import parse_unit

F = np.array([8, 12, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 1000.0])
AT_REFERENCE = int(np.flatnonzero(F == 80.0)[0])
GOOD = {"low": (20.0, 2), "high": (400.0, 2)}
LIVE_ZERO = replace(
    CHANNEL,
    input_unit=parse_unit("mm/s rms"),
    output_unit=parse_unit("mA dc"),
    nominal_sensitivity=0.64,
    output_zero=4.0,
)


def truth(f=F, **filters):
    return butterworth(f, **(filters or GOOD))


def case_of(output=None, *, f=F, band=BAND, channel=CHANNEL, **how):
    output = 40.0 * truth(f) if output is None else output
    return make_case("band-response", f, output, channel=replace(channel, band=band), **how)


def analyse(output=None, **how):
    return analyse_band_response(case_of(output, **how))


# --- truth ---


@pytest.mark.parametrize("orders", [(1, 1), (2, 2), (3, 4), (4, 1)])
def test_response_corners_and_rotors_are_the_filters(orders):
    filters = {"low": (20.0, orders[0]), "high": (400.0, orders[1])}
    result = analyse(40.0 * truth(**filters))
    expected = 100.0 * truth(**filters) / truth(np.array([80.0]), **filters)
    np.testing.assert_allclose([p.value_pct for p in result.points], expected, rtol=1e-9)
    assert result.fit.low.hz == pytest.approx(20.0, rel=1e-4)
    assert result.fit.high.hz == pytest.approx(400.0, rel=1e-4)
    turbine, pinion = result.rotors
    assert (turbine.response.source, pinion.response.source) == ("reading", "fitted model")
    for item in result.rotors:
        at = np.array([item.rotor.speed_hz])
        want = 100.0 * truth(at, **filters) / truth(np.array([80.0]), **filters)
        assert item.response.response_pct == pytest.approx(want[0], rel=1e-6)
    sane(result)


def test_a_good_channel_passes():
    result = analyse()
    assert result.verdict == "pass"
    assert result.not_verified == ()
    assert result.flat_worst.value_pct == pytest.approx(min(p.value_pct for p in result.points if p.upper_pct == 105.0))
    entry = sane(result)
    assert entry["quantities"]["points"][AT_REFERENCE]["response_db"] == 0.0


@pytest.mark.parametrize(
    ("filters", "name"),
    [
        ({"low": (20.0, 2), "high": (300.0, 2)}, "upper corner"),
        ({"low": (20.0, 2), "high": (520.0, 2)}, "upper corner"),
        ({"low": (30.0, 2), "high": (400.0, 2)}, "lower corner"),
        ({"low": (12.0, 2), "high": (400.0, 2)}, "lower corner"),
        ({"low": (20.0, 2)}, "upper corner"),  # the filter is bypassed
        ({"high": (400.0, 2)}, "lower corner"),
    ],
)
def test_a_shifted_corner_fails_by_name(filters, name):
    result = analyse(40.0 * truth(**filters))
    assert result.verdict == "fail"
    failed = [item.requirement.name for item in result.requirements if item.decision.verdict == "fail"]
    assert failed == [name]
    response = 100.0 * truth(np.array([20.0, 400.0]), **filters) / truth(np.array([80.0]), **filters)
    np.testing.assert_allclose([i.response.response_pct for i in result.requirements], response, rtol=1e-9)


@pytest.mark.parametrize(("response_pct", "verdict"), [(62.9, "fail"), (63.2, "pass"), (79.3, "pass"), (79.6, "fail")])
def test_limits_at_the_corner_are_minus_four_to_minus_two_decibels(response_pct, verdict):
    """-4 to -2 dB is 63.1 to 79.4 % of the mid-band reading (common practice, no source)."""
    output = 40.0 * np.where(F == 400.0, response_pct / 100.0, truth() / truth()[AT_REFERENCE])
    item = analyse(output).requirements[1]
    assert (item.requirement.min_pct, item.requirement.max_pct) == pytest.approx((63.096, 79.433), abs=1e-3)
    assert item.decision.verdict == verdict


def test_ten_percent_down_is_a_normal_sight_at_85_percent_of_the_upper_corner():
    """Corners at 25 and 350 Hz: a reading at 300 Hz is about 10 % down (common practice, no source)."""
    band = BandSpecification(
        reference_hz=80.0,
        corner_low_hz=25.0,
        corner_high_hz=350.0,
        limits=(ResponseLimit(frequency_hz=300.0, min_pct=85.0, max_pct=105.0),),
    )
    f = np.array([10.0, 25.0, 50.0, 80.0, 150.0, 300.0, 350.0, 600.0])
    result = analyse(40.0 * truth(f, low=(25.0, 4), high=(350.0, 4)), f=f, band=band)
    assert result.verdict == "pass"
    assert result.requirements[2].response.response_pct == pytest.approx(88.0, abs=0.1)


def test_a_dip_in_the_flat_part_fails_and_is_the_worst():
    output = 40.0 * truth() * np.where(F == 125.0, 0.93, 1.0)
    result = analyse(output)
    assert result.verdict == "fail"
    assert result.flat_worst.reading.frequency_hz == 125.0
    assert result.flat_worst.decision.verdict == "fail"


def test_a_corner_between_readings_is_held_against_the_fitted_model():
    f = F[(F != 20.0) & (F != 400.0)]
    result = analyse(40.0 * truth(f), f=f)
    assert result.verdict == "pass"
    for item in result.requirements:
        assert item.response.source == "fitted model"
        at = np.array([item.requirement.frequency_hz, 80.0])
        want = truth(at)[0] / truth(at)[1]
        assert item.response.response_pct == pytest.approx(100.0 * want, rel=1e-6)


def test_live_zero_current_loop():
    """4-20 mA for 0-25 mm/s rms: the output less 4 mA is what answers to the vibration."""
    result = analyse(4.0 + 0.64 * 10.0 * truth(), channel=LIVE_ZERO)
    assert result.verdict == "pass"
    assert result.reference_sensitivity == pytest.approx(0.64 * truth()[AT_REFERENCE], rel=1e-12)
    np.testing.assert_allclose([p.value_pct for p in result.points], 100.0 * truth() / truth()[AT_REFERENCE], rtol=1e-9)
    without = analyse(4.0 + 0.64 * 10.0 * truth(), channel=replace(LIVE_ZERO, output_zero=0.0))
    assert without.verdict == "fail"  # to forget the live zero hides the roll-off


# --- what stays open ---


@pytest.mark.parametrize("how", ["never read", "excluded", "no output", "no level"])
def test_without_the_reference_frequency_nothing_is_stated(how):
    keep = F != 80.0 if how == "never read" else np.full(F.size, True)
    output = np.where((F == 80.0) & (how == "no output"), 0.0, 40.0 * truth())
    result = analyse(
        output[keep],
        f=F[keep],
        applied=np.where((F == 80.0) & (how == "no level"), 0.0, 10.0)[keep],
        exclude={AT_REFERENCE: "knocked"} if how == "excluded" else None,
    )
    assert result.verdict == "not verified"
    assert "at the reference frequency 80 Hz" in result.not_verified[0]
    assert result.reference_sensitivity is None
    assert {(p.value_pct, p.decision) for p in result.points} == {(None, None)}
    assert {i.decision for i in result.requirements} == {None}
    assert all("reference frequency 80 Hz" in i.response.reason for i in (*result.requirements, *result.rotors))
    entry = sane(result)
    assert "reference frequency" in entry["undetermined"]["corner_low_hz"]


def test_one_sided_bands():
    low_only = BandSpecification(reference_hz=80.0, flat_hz=(40.0, 1000.0), flat_pct=5.0, corner_low_hz=20.0)
    result = analyse(40.0 * truth(low=(20.0, 2)), band=low_only)
    assert result.verdict == "pass"
    assert [item.requirement.name for item in result.requirements] == ["lower corner"]
    assert result.fit.high.hz is None
    assert "no roll-off" in sane(result)["undetermined"]["corner_high_hz"]
    high_only = BandSpecification(reference_hz=80.0, flat_hz=(8.0, 200.0), flat_pct=5.0, corner_high_hz=400.0)
    result = analyse(40.0 * truth(high=(400.0, 2)), band=high_only)
    assert result.verdict == "pass"
    assert result.fit.low.hz is None


def test_a_corner_that_was_not_reached_is_not_verified():
    f = F[F <= 250.0]
    result = analyse(40.0 * truth(f), f=f)
    assert result.verdict == "not verified"
    assert "upper corner: 400 Hz lies outside the readings, which run from 8 to 250 Hz" in result.not_verified
    assert result.fit.high.hz is None


def test_a_failure_outweighs_what_was_not_verified():
    f = F[F <= 250.0]
    assert analyse(40.0 * truth(f, low=(30.0, 2)), f=f).verdict == "fail"


def test_repeats_of_one_frequency_do_not_make_it_flat():
    f = np.array([8.0, 20.0, 80.0, 80.4, 79.7, 80.2, 400.0, 1000.0])
    result = analyse(40.0 * truth(f), f=f)
    assert result.verdict == "not verified"
    assert result.not_verified == ("readings at 1 frequency within 40 to 200 Hz, where 3 are needed to call it flat",)


def test_readings_that_stop_short_of_the_flat_part_do_not_make_it_flat():
    band = BandSpecification(reference_hz=80.0, flat_hz=(10.0, 1000.0), flat_pct=5.0)
    f = np.array([63.0, 80.0, 100.0, 125.0])
    result = analyse(np.full(4, 40.0), f=f, band=band)
    assert result.verdict == "not verified"
    assert result.not_verified == ("the flat part runs from 10 to 1000 Hz and the readings only from 63 to 125 Hz",)
    f = np.array([12.5, 40.0, 80.0, 800.0])  # within a third octave of the ends
    assert analyse(np.full(4, 40.0), f=f, band=band).verdict == "pass"
    for short in ([12.7, 40.0, 80.0, 800.0], [12.5, 40.0, 80.0, 790.0]):
        assert analyse(np.full(4, 40.0), f=np.array(short), band=band).verdict == "not verified"


def test_no_limits_no_verdict():
    result = analyse(band=BandSpecification(reference_hz=80.0))
    assert result.verdict == "not verified"
    assert "no limit for the band response is stated in asset.toml" in result.not_verified
    assert result.fit.low.hz == pytest.approx(20.0, rel=1e-3)
    sane(result)


def test_a_channel_without_a_band_is_refused_in_a_sentence():
    with pytest.raises(NothingToAnalyse, match=r"STG-1-V11 has no \[band\] table in asset.toml; add it"):
        analyse(band=None)


WILD = [1e-12, 1e12, 1.0, -2.0, 0.0, 4.0, 5.0, 6.0, 1e-9, 8.0, 1e9, 1e-3]
ODD = {
    "nothing": ([], [], {}),
    "one reading": ([80.0], [40.0], {}),
    "one reading elsewhere": ([50.0], [40.0], {}),
    "two readings": ([80.0, 400.0], [40.0, 28.0], {}),
    "one frequency": ([80.0] * 5, [40.0, 41.0, 39.0, 40.0, 40.0], {}),
    "all excluded": (F, 40.0 * truth(), {"exclude": dict.fromkeys(range(F.size), "lost")}),
    "only the reference": (F, 40.0 * truth(), {"exclude": {i: "lost" for i in range(F.size) if i != AT_REFERENCE}}),
    "dead": (F, np.zeros(F.size), {}),
    "dead loop": (F, np.full(F.size, 4.0), {"channel": LIVE_ZERO}),
    "broken loop": (F, np.zeros(F.size), {"channel": LIVE_ZERO}),
    "one dead reading": (F, np.where(F == 8.0, 0.0, 40.0 * truth()), {}),
    "no level": (F, 40.0 * truth(), {"applied": 0.0}),
    "no level once": (F, 40.0 * truth(), {"applied": np.where(F == 8.0, 0.0, 10.0)}),
    "no level in an excluded reading": (F, 40.0 * truth(), {"applied": np.where(F == 8.0, 0, 10), "exclude": {0: "x"}}),
    "minute": (F, 1e-12 * truth(), {}),
    "enormous": (F, 1e12 * truth(), {}),
    "wild": (F[:12], WILD, {}),
    "resonance in the band": (F, 40.0 / np.abs(1.0 - (F / 140.0) ** 2), {}),
    "noise": (F, np.abs(np.random.default_rng(1).standard_normal(F.size)), {}),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_tables_end_in_a_verdict_and_reasons(name):
    f, output, how = ODD[name]
    result = analyse(output, f=f, **how)
    sane(result)
    assert result.verdict != "pass" or name in ("one dead reading", "minute", "enormous") or name.startswith("no level")
    for point in result.points:
        for value in (point.sensitivity, point.value_pct):
            assert value is None or math.isfinite(value)


def test_a_reading_without_level_has_no_sensitivity():
    result = analyse(40.0 * truth(), applied=np.where(F == 8.0, 0.0, 10.0))
    assert (result.points[0].sensitivity, result.points[0].value_pct, result.points[0].decision) == (None, None, None)
    assert result.verdict == "pass"


# --- uncertainty, by GTC and by statsmodels ---


def uncertainty_by_gtc(case, i, *, leverages=(1.0, 1.0)):
    """Standard uncertainty of the response of reading ``i``, in %, propagated by GTC from the errors themselves.

    Shared by both readings: the reference level as its certificate states it at each frequency, its drift, the
    readout's gain (times the live-zero leverage), temperature. By frequency: mounting, transverse motion, distortion
    (rectangular, half-widths 0.2, 0.3 and 0.1 %). By reading: settling (0.2 %), cable strain (0.1 %, rectangular).
    """

    def certificate(hz):
        band = next(b for b in case.references[0].uncertainty if b.from_hz <= hz <= b.to_hz)
        return band.expanded_pct / band.k / 100.0

    reference, gain = GTC.ureal(0.0, 1.0), GTC.ureal(0.0, 0.001)
    shared = GTC.ureal(0.0, 0.002 * (129 / 365.25) / math.sqrt(3.0)) + GTC.ureal(0.0, 0.002 / math.sqrt(3.0))

    def sensitivity(index, leverage):
        reading = case.readings[index]
        own = sum(GTC.ureal(0.0, 0.01 * half / math.sqrt(3.0)) for half in (0.2, 0.3, 0.1, 0.1)) + GTC.ureal(0.0, 0.002)
        errors = certificate(reading.frequency_hz) * reference + shared + gain * leverage + own
        return reading.output * (1.0 + errors)

    return 100.0 * GTC.uncertainty(sensitivity(i, leverages[0]) / sensitivity(AT_REFERENCE, leverages[1]))


@pytest.mark.parametrize("i", [0, 5, 12, 19])
def test_uncertainty_of_a_response_by_gtc(i):
    """What is shared cancels; a certificate of two uncertainties leaves their difference."""
    bands = (
        ReferenceBand(from_hz=1.0, to_hz=10.0, expanded_pct=3.0, k=2.0),
        ReferenceBand(from_hz=10.0, to_hz=20_000.0, expanded_pct=1.0, k=2.0),
    )
    case = replace(case_of(), references=(replace(REFERENCE, uncertainty=bands),))
    point = analyse_band_response(case).points[i]
    assert point.expanded.u == pytest.approx(uncertainty_by_gtc(case, i), rel=1e-6)
    assert pytest.approx(1.959964 * point.expanded.u, rel=1e-6) == point.expanded.U


@pytest.mark.parametrize("i", [0, 19])
def test_a_live_zero_lets_the_readouts_gain_through(i):
    """The meter's gain error moves 4 mA too, which weighs the more the less vibration stands above it."""
    case = case_of(4.0 + 6.4 * truth(), channel=LIVE_ZERO)
    case = replace(case, readouts=(replace(READOUT, expanded_pct=1.0),))
    above = np.array([r.output - 4.0 for r in case.readings])
    leverage = [5.0 * (1.0 + 4.0 / above[j]) for j in (i, AT_REFERENCE)]  # gain of 0.5 %, five times the 0.1 % in there
    bare = replace(case, readings=tuple(replace(r, output=float(y)) for r, y in zip(case.readings, above, strict=True)))
    point = analyse_band_response(case).points[i]
    # the readings' own part is of the vibration above the zero
    assert point.expanded.u == pytest.approx(uncertainty_by_gtc(bare, i, leverages=leverage), rel=1e-6)
    without = analyse_band_response(replace(case, readouts=())).points[i]
    assert point.expanded.u > 1.1 * without.expanded.u


def test_the_plateau_of_a_flat_response_by_statsmodels():
    """Without roll-off the model is a constant: the weighted mean of ln S, and its standard error."""
    applied = np.linspace(1.0, 20.0, F.size)  # coarse digits weigh the more the lower the level
    output = np.round(4.0 * applied * np.exp(0.004 * np.random.default_rng(3).standard_normal(F.size)), 1)
    result = analyse(output, band=BandSpecification(reference_hz=80.0), applied=applied, decimals=1)
    fit = result.fit
    assert np.ptp(fit.errors.u) > 0.001
    other = sm.WLS(np.log(output / applied), np.ones(F.size), weights=1.0 / fit.errors.u**2).fit()
    assert fit.sides == ((0, 0), (0, 0)) and fit.fitness.widening == 1.0
    assert math.log(fit.plateau) == pytest.approx(other.params[0], abs=1e-9)
    assert fit.covariance[0, 0] == pytest.approx(other.normalized_cov_params[0, 0], rel=1e-6)


def test_the_reference_is_the_mean_of_its_readings():
    f = np.append(F, [80.0, 80.3])
    output = 40.0 * np.append(truth(), [1.01, 0.99])
    result = analyse(output, f=f)
    at = np.abs(f / 80.0 - 1.0) < 0.01
    assert result.reference_sensitivity == pytest.approx(output[at].mean() / 10.0, rel=1e-12)
    assert [p.decision is None for p, here in zip(result.points, at, strict=True) if here] == [True] * 3


# --- laws ---

ERRORS = st.lists(st.floats(0.98, 1.02), min_size=F.size, max_size=F.size)


def assert_same(one, other, *, rel=1e-9):
    assert other.verdict == one.verdict
    assert other.not_verified == one.not_verified
    ours, theirs = ({p.reading.row: p for p in result.points} for result in (one, other))
    for row, point in ours.items():
        assert theirs[row].value_pct == pytest.approx(point.value_pct, rel=rel)
        assert theirs[row].verdict == point.verdict
        assert theirs[row].expanded.u == pytest.approx(point.expanded.u, rel=1e-6)
    for side in ("low", "high"):
        assert other.corners[side].hz == pytest.approx(one.corners[side].hz, rel=1e-6)


@SHORT
@given(ERRORS, st.permutations(range(F.size)))
def test_row_order_changes_nothing(errors, order):
    case = case_of(40.0 * truth() * np.array(errors))
    shuffled = replace(case, readings=tuple(case.readings[i] for i in order))
    assert_same(analyse_band_response(case), analyse_band_response(shuffled))


@SHORT
@given(
    ERRORS,
    st.lists(st.sampled_from(["mm/s rms", "in/s pk", "m/s2 pk", "g rms", "um pkpk"]), min_size=F.size, max_size=F.size),
    st.sampled_from(["V rms", "mV pkpk", "V pk"]),
)
def test_units_of_the_table_change_nothing(errors, applied_units, output_unit):
    """Each reading's level in another quantity at its own frequency, the output with another detector."""
    case = case_of(40.0 * truth() * np.array(errors))
    other_units = in_units(case, applied_units, output_unit)
    assert_same(analyse_band_response(case), analyse_band_response(other_units))


@SHORT
@given(ERRORS, st.floats(1e-4, 1e4))
def test_a_gain_changes_nothing_but_the_sensitivity(errors, gain):
    output = 40.0 * truth() * np.array(errors)
    one, other = analyse(output), analyse(gain * output)
    assert_same(one, other)
    assert other.reference_sensitivity == pytest.approx(gain * one.reference_sensitivity, rel=1e-12)


@SHORT
@given(ERRORS, st.sampled_from([5.0, 20.0, 80.0, 125.0, 2000.0]), st.floats(0.0, 1e4))
def test_an_excluded_reading_changes_nothing(errors, frequency_hz, output):
    case = case_of(40.0 * truth() * np.array(errors))
    wild = replace(case.readings[0], row=99, frequency_hz=frequency_hz, output=output, exclude="knocked")
    one, other = analyse_band_response(case), analyse_band_response(replace(case, readings=(wild, *case.readings)))
    assert_same(one, other)
    assert len(other.points) == F.size + 1
    assert other.points[0].decision is None
    assert other.flat_worst.reading.row == one.flat_worst.reading.row


@SHORT
@given(ERRORS, st.floats(0.0, 1.5))
def test_a_guard_band_never_makes_a_verdict_better(errors, r):
    order = ["pass", "conditional pass", "not verified", "conditional fail", "fail"]
    case = case_of(40.0 * truth() * (1.0 + 3.0 * (np.array(errors) - 1.0)))
    simple, guarded = (analyse_band_response(case.with_decision(rule=rule, r=r)) for rule in ("simple", "guarded"))
    for plain, guard in zip(simple.points, guarded.points, strict=True):
        if plain.decision is not None and plain.verdict == "fail":
            assert guard.verdict in ("conditional fail", "fail")
        elif plain.decision is not None:
            assert guard.verdict in ("pass", "conditional pass")
    assert order.index(guarded.verdict) >= order.index("conditional fail") or simple.verdict == "pass"
