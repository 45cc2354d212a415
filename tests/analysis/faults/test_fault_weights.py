"""The weights of explanations, their support and their likeness, each worked out in a second way."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, signal, stats

from tests.support.analyses.chain_model import points
from tests.support.analyses.consequence import linearity, sensor
from tests.support.analyses.faults import _waver, simulate
from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.faults.chain_model import INDEX, OFF, PARAMETERS, predict_ratio
from vibcal_nb.analysis.faults.fault_families import (
    HEALTHY,
    NONE_OF_THESE,
    REST,
    SCATTERS,
    ChannelKind,
    fault_families,
    healthy_expectation,
)
from vibcal_nb.analysis.faults.fault_readings import gather_readings
from vibcal_nb.analysis.faults.faults import SCATTERED, WANDERS, explain_channel
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.model.names import SHAKER_TESTS
from vibcal_nb.units import parse_unit


@pytest.fixture
def noisy():
    return explain_channel(simulate("noise floor")[2])


@pytest.fixture
def sound():
    """Of a healthy channel, where most families fit in several of their variants."""
    return explain_channel(simulate("healthy")[2])


@pytest.fixture(scope="module")
def paired():
    """No family fits, so that pairs of families were tried."""
    cases = simulate("healthy")[2]
    return explain_channel([replace(c, readings=tuple(_waver(r) for r in c.readings)) for c in cases])


@pytest.fixture(scope="module")
def two():
    """A gain 10 % low, at 50 Hz, where pick-up from the mains beats."""
    return explain_channel([linearity(0.9), sensor()])


def expected_weights(found):
    """Bayes: prior times evidence, of which a family has the sum over its variants. Faults share 0.48 alike."""
    single = [e for e in found.explanations if len(e.names) == 1 and e.name not in (HEALTHY, NONE_OF_THESE)]
    each = (1.0 - 0.5 - 0.02) / len(single)
    best = max(v.log_evidence for e in found.explanations for v in e.variants)
    mass = {
        e.name: {HEALTHY: 0.5, NONE_OF_THESE: 0.02}.get(e.name, each ** len(e.names))
        * math.fsum(math.exp(v.log_evidence - best) for v in e.variants)
        for e in found.explanations
    }
    return {name: value / math.fsum(mass.values()) for name, value in mass.items()}


def test_weights_are_prior_times_evidence(noisy, paired, sound, two):
    """A pair of faults is as likely as two draws; the last channel has two, pick-up and a low gain."""
    assert two.top.names == ("mains pick-up", "module gain")
    for found in (noisy, paired, sound, two):
        expected = expected_weights(found)
        assert {e.name: e.weight for e in found.explanations} == pytest.approx(expected, rel=1e-9, abs=0.0)
        weights = [e.weight for e in found.explanations]
        assert weights == sorted(weights, reverse=True)
        for item in found.explanations:
            evidence = np.array([v.log_evidence for v in item.variants])
            assert list(evidence) == sorted(evidence, reverse=True)
            assert item.variant_weights == pytest.approx(
                np.exp(evidence - evidence[0]) / np.exp(evidence - evidence[0]).sum()
            )
            assert item.fitted is item.variants[0]


def test_pairs_are_of_leaders_that_differ_with_every_other_that_moves_something_else(paired):
    """The four nearest, a squared distance of 4 apart, each with the five likeliest variants of every other family."""
    alone = {HEALTHY, NONE_OF_THESE, "cable strain", "dead or stuck output", "intermittent contact"}
    singles = {e.name: e.fitted for e in paired.explanations if len(e.names) == 1 and e.name not in alone}
    leading = []
    for name in sorted(singles, key=lambda name: singles[name].chi_squared + float((singles[name].pull ** 2).sum())):
        away = [
            (singles[name].prediction - singles[leader].prediction, singles[leader].reading_covariance)
            for leader in leading
        ]
        if all(apart @ np.linalg.inv(covariance) @ apart > 4.0 for apart, covariance in away):
            leading.append(name)
    expected = set()
    for leader in leading[:4]:
        own = singles[leader].variant
        for name in singles.keys() - {leader}:
            likeliest = sorted(singles[name].family.variants, key=lambda v: -v.share)[:5]
            others = [v for v in likeliest if not {*own.expected, *own.fixed} & {*v.expected, *v.fixed}]
            if any(not own.scatter and not v.scatter for v in others):
                expected.add(frozenset((leader, name)))
    pairs = [e for e in paired.explanations if len(e.names) == 2]
    assert len(leading) >= 4 and len(expected) == len(pairs)
    assert {frozenset(e.names) for e in pairs} == expected


def test_pairs_are_not_tried_where_one_fault_fits(noisy):
    assert not noisy.poor
    assert all(len(e.names) == 1 for e in noisy.explanations)


def test_the_probability_of_so_large_a_misfit(noisy, sound):
    for found in (noisy, sound):
        n = len(found.readings)
        for item in found.explanations:
            assert item.fit_probability == pytest.approx(stats.chi2.sf(item.fitted.chi_squared, n), rel=1e-9)
            residual = found.readings.ratio - item.fitted.prediction
            squared = residual @ np.linalg.solve(item.fitted.reading_covariance, residual)
            assert item.fitted.chi_squared == pytest.approx(squared, rel=1e-6)


def left_out(ratio, item):
    """Each reading's misfit against its conditional distribution given all others, of the multivariate normal."""
    V, d = item.reading_covariance, ratio - item.prediction
    squared = []
    for i in range(len(d)):
        others = np.delete(np.arange(len(d)), i)
        gain = np.linalg.solve(V[np.ix_(others, others)], V[others, i])
        squared.append((d[i] - gain @ d[others]) ** 2 / (V[i, i] - gain @ V[others, i]))
    return np.array(squared)


def test_support_is_half_of_what_a_reading_misfits_less_than_under_healthy(noisy):
    ratio = noisy.readings.ratio
    healthy = left_out(ratio, noisy.of(HEALTHY).fitted)
    for item in noisy.explanations[:4]:
        assert item.support == pytest.approx(0.5 * (healthy - left_out(ratio, item.fitted)), rel=1e-5, abs=1e-6)
    assert noisy.of(HEALTHY).support == pytest.approx(np.zeros(len(ratio)), abs=1e-9)


def test_alike_are_families_that_the_readings_are_not_expected_to_tell(noisy, two):
    """The mean logarithm of the likelihood ratio of drawn readings, both ways, is below 2."""
    for found in (noisy, two):
        densities = {
            e.name: stats.multivariate_normal(e.fitted.prediction, e.fitted.reading_covariance)
            for e in found.explanations
            if e.fitted.claimed
        }
        drawn = {name: density.rvs(1500, random_state=1) for name, density in densities.items()}
        for item in found.explanations:
            if item.weight < 1e-3:
                assert item.alike == ()
                continue
            for other in found.explanations:
                fault = not {HEALTHY, NONE_OF_THESE} & {*item.names, *other.names}
                if other is item or not fault or not other.fitted.claimed:
                    assert other.name not in item.alike
                    continue
                told = 0.0
                for own, rest in ((item.name, other.name), (other.name, item.name)):
                    x = drawn[own]
                    told += float(np.mean(densities[own].logpdf(x) - densities[rest].logpdf(x)))
                if 1.8 < told < 2.2:
                    continue  # the drawing does not decide so near the limit of 2
                assert (other.name in item.alike) == (told < 2.0), (item.name, other.name, told)
    assert noisy.top.alike and two.top.alike


def test_what_nobody_can_name_is_looked_up_in_vain(noisy):
    with pytest.raises(KeyError):
        noisy.of("gremlins")
    assert noisy.of(noisy.top.name) is noisy.top


def test_scatter_at_low_frequency_and_a_free_wander_widen_the_readings(noisy):
    """Strain falls with the stroke above the reference frequency; a wander of w is alike within an octave."""
    readings = noisy.readings
    at, size = readings.points, np.abs(readings.ratio)
    for item in noisy.of("cable strain").variants:
        weight = np.minimum(1.0, at.reference_hz / at.frequency_hz) * size
        added = np.diag((item.variant.scatter * weight) ** 2)
        assert item.reading_covariance == pytest.approx(readings.covariance + added, rel=1e-9, abs=1e-15)
    octaves, levels = np.log2(at.frequency_hz), np.log2(at.level)
    alone = at.test == SHAKER_TESTS.index("sensor-alone")
    for item in noisy.of(NONE_OF_THESE).variants:
        assert item.variant.share == pytest.approx(1.0 / (len(WANDERS) + len(SCATTERED)))
        own = -10.0 - item.variant.scatter
        if own > 0.0:
            assert own in SCATTERED
            added = np.diag((own * size) ** 2)
            assert item.reading_covariance == pytest.approx(readings.covariance + added, rel=1e-9, abs=1e-15)
            continue
        assert -item.variant.scatter in WANDERS
        for i in range(0, len(size), 3):
            for j in range(0, len(size), 5):
                near = math.exp(-0.5 * (octaves[i] - octaves[j]) ** 2)
                if not alone[i] and not alone[j]:
                    near *= math.exp(-0.5 * ((levels[i] - levels[j]) / 1.5) ** 2)
                alike = (0.75 * near if alone[i] == alone[j] else 0.0) + 0.25 * (i == j)
                added = item.variant.scatter**2 * size[i] * size[j] * alike
                assert item.reading_covariance[i, j] == pytest.approx(readings.covariance[i, j] + added, rel=1e-9)


def filter_shape(hz, corner_hz, kind):
    """Half the change of ln of a second-order filter, 3 dB down at its corner and right at 80 Hz, from a damping of
    exp(-0.2)/sqrt(2) to one of exp(0.2)/sqrt(2)."""
    found = []
    for sign in (1.0, -1.0):
        damping = math.exp(sign * 0.2) / math.sqrt(2.0)
        top = [1.0, 0.0, 0.0] if kind == "high" else [1.0]

        def gain(w, top=top, damping=damping):
            return abs(signal.freqs(top, [1.0, 2.0 * damping, 1.0], worN=[w])[1][0])

        edge = optimize.brentq(lambda w, gain=gain: gain(w) - math.sqrt(0.5), 0.2, 5.0, xtol=1e-13)
        found.append(math.log(gain(hz / corner_hz * edge) / gain(80.0 / corner_hz * edge)))
    return 0.5 * (found[0] - found[1])


def test_the_covariance_of_the_readings_is_made_of_own_shared_and_common_parts():
    """Own: on the diagonal, with 0.15 % of what the closed forms miss. Certificates: of one error. Mounting: at one
    frequency, of the channel's tests together and of the sensor alone apart."""
    cases = simulate("healthy")[2]
    found = gather_readings(cases)
    parts = [(case, scale_readings(case)) for case in cases if case.test in SHAKER_TESTS]
    assessed = [assess_readings(case, scaled) for case, scaled in parts]
    f, ratio, alone = found.points.frequency_hz, found.ratio, found.points.test == SHAKER_TESTS.index("sensor-alone")
    reference, readout = [], []
    for (_, scaled), uncertainty in zip(parts, assessed, strict=True):
        for i, hz in enumerate(scaled.frequency_hz):
            total, gain = uncertainty.u_common_pct(hz) / 100.0, uncertainty.u_readout_pct / 100.0
            reference.append(math.sqrt(total**2 - gain**2))
            readout.append(gain * uncertainty.zero_leverage[i])
    mounting = assessed[0].u_frequency_pct(80.0) / 100.0
    shapes = [
        [filter_shape(x, found.points.corner_low_hz, "high") for x in f],
        [filter_shape(x, found.points.corner_high_hz, "low") for x in f],
    ]
    for i in range(0, len(f), 2):
        for j in range(0, len(f), 3):
            expected = ratio[i] * ratio[j] * (reference[i] * reference[j] + readout[i] * readout[j])
            if alone[i] == alone[j] and abs(f[i] / f[j] - 1.0) < 0.005:
                expected += mounting**2 * ratio[i] * ratio[j]
            if i == j:
                expected += found.u_ratio[i] ** 2
            if not alone[i] and not alone[j]:
                expected += sum(a[i] * a[j] for a in shapes) * ratio[i] * ratio[j]
            if abs(f[i] / f[j] - 1.0) < 0.005 or abs(f[i] / f[j] - 1.0) > 0.02:
                assert found.covariance[i, j] == pytest.approx(expected, rel=1e-9, abs=1e-15)


def test_closed_forms_are_trusted_to_0_15_percent_and_less_where_a_filter_takes_away():
    """Three per cent more for each factor e beyond exp(-0.7), below the median; 0.8 % from exp(-0.35) on."""
    hz = np.array([40.0, 60.0, 80.0, 120.0, 400.0])
    own = math.hypot(0.2, 0.1 / math.sqrt(3.0)) / 100.0
    for gain in (1.0, 0.5, 2.0):
        output = 40.0 * gain * np.array([1.0, 1.0, 1.0, 1.0, math.exp(-1.7)])
        found = gather_readings([make_case("band-response", hz, output, channel=CHANNEL)])
        assert found.u_ratio[0] == pytest.approx(gain * math.hypot(own, 0.0015))
        assert found.u_ratio[4] == pytest.approx(gain * math.exp(-1.7) * math.hypot(own, 0.0395))


def every_variant():
    for corners in ((20.0, 400.0), (20.0, None), (None, 400.0), (None, None)):
        for velocity in (True, False):
            for family in fault_families(
                points([80.0], corners=corners), ChannelKind(is_velocity=velocity, is_dc=velocity)
            ):
                yield from ((family, variant) for variant in family.variants)


def test_what_a_fault_may_move_is_bounded():
    """Spreads: a factor e at most. Starts: within four spreads of their centre, one within 1.3 of it, and apart."""
    for family, variant in every_variant():
        for name, (_, spread) in variant.expected.items():
            assert 0.0 < spread < 1.0, (family.name, name)
        for name in {name for start in variant.starts for name in start}:
            centre, spread = variant.expected[name]
            at = sorted((start.get(name, centre) - centre) / spread for start in variant.starts)
            assert at[0] > -4.0 and at[-1] < 4.0, (family.name, name)
            assert min(map(abs, at)) < 1.3, (family.name, name)
            assert min(np.diff(at), default=1.0) > 0.6, (family.name, name)  # each begins a search of its own
        assert 0.0 < variant.share <= 1.0
        assert 0.0 <= variant.unsteady < 0.7  # 0.7 if nothing of a beat averages
        assert 0.0 <= variant.scatter <= max(SCATTERS) < 0.2


def sizes(name, parameter):
    return {
        math.exp(v.expected[parameter][0]) for f, v in every_variant() if f.name == name and parameter in v.expected
    }


def test_faults_have_the_sizes_that_are_plausible():
    """Judgement, no source; levels are shares of full scale, a resonance is a multiple of the band's upper end."""
    (noise,), (pickup,), (clip,) = (
        sizes(*which) for which in (("noise floor", "noise"), ("mains pick-up", "pickup"), ("saturation", "clip"))
    )
    assert 0.01 < noise < 0.1 and 0.01 < pickup < 0.1 and 0.2 < clip < 0.8
    healthy = healthy_expectation(points([80.0]), tolerance=0.05)
    assert math.exp(healthy["noise"][0]) < 0.1 * noise
    assert math.exp(healthy["resonance"][0]) > 3.0 * max(
        sizes("loose mounting", "resonance") | sizes("cracked element", "resonance")
    )
    assert min(sizes("loose mounting", "resonance") | sizes("cracked element", "resonance")) > 1.5
    assert all(0.7 < size < 0.85 for size in sizes("cracked element", "sensor_gain"))
    assert sorted(round(size, 2) for size in sizes("sensor lost sensitivity", "sensor_gain")) == [0.41, 0.8]
    assert sorted(round(size, 2) for size in sizes("module gain", "module_gain")) == [0.78, 1.0, 1.22]
    assert all(-0.05 < v.expected["leak"][0] < 0.5 for f, v in every_variant() if f.name == "leak")
    assert -0.01 < healthy["decade_slope"][0] < 0.0  # sensors fall rather than rise
    assert 0.0 < healthy["decade_slope"][1] < 0.01
    assert all(1.5 < math.exp(healthy[f"order_{side}"][0]) < 3.0 for side in ("low", "high"))
    assert all(0.0 < spread < 1.0 for _, spread in healthy.values())
    assert all(healthy[f"corner_{side}"] == (0.0, healthy["corner_low"][1]) for side in ("low", "high"))
    assert healthy["corner_low"][1] < 0.05


def test_a_shift_either_way_is_as_likely_where_nothing_says_which():
    for family, variant in every_variant():
        for name in ("looseness", "hysteresis", "right_at"):
            if name in variant.expected:
                assert variant.expected[name][0] == 0.0, family.name
    corners = [v.expected for f, v in every_variant() if f.name == "wrong filter" and v.expected]
    for side in ("low", "high"):
        centres = {e[f"corner_{side}"][0] for e in corners if f"corner_{side}" in e}
        assert {-c for c in centres} == centres and 0.0 not in centres
        assert max(centres) < 1.0
    assert list(SCATTERS) == sorted(SCATTERS)


def test_what_is_at_rest_adds_nothing():
    assert math.exp(OFF) < 1e-6
    assert math.exp(REST["clip"]) > 1e3
    assert REST["pickup"] == REST["leak"] == OFF


def test_what_a_fault_looks_like_does_not_hang_on_where_idle_parameters_rest():
    """Without pick-up it does not matter which mains it would be of, without a corner not of what order."""
    at = points([10.0, 49.0, 80.0, 300.0], level=[0.1, 0.5, 1.0, 0.3], corners=(None, None), test="linearity")
    rest = np.zeros((1, len(PARAMETERS)))
    for name, value in REST.items():
        rest[0, INDEX[name]] = value
    for name in ("mains", "pickup_width", "harmonics", "leak_in_sensor", "order_low", "order_high", "clip_kind"):
        moved = rest.copy()
        moved[0, INDEX[name]] = 2.0
        np.testing.assert_array_equal(predict_ratio(moved, at), predict_ratio(rest, at))


def test_a_live_zero_is_read_with_the_readouts_gain_in_the_covariance_too():
    """Outputs of 60 and 30 mV on a zero of 20 stand for 40 and 10: leverages of 1.5 and 3 of the gain's 0.1 %."""
    live = replace(CHANNEL, output_zero=20.0, sensor=None)
    hz = np.array([40.0, 80.0])
    case = make_case("band-response", hz, [60.0, 30.0], channel=live)
    found, uncertainty = gather_readings([case]), assess_readings(case, scale_readings(case))
    total, gain = uncertainty.u_common_pct(80.0) / 100.0, 0.001
    shared = total**2 - gain**2 + gain**2 * 1.5 * 3.0
    assert found.ratio == pytest.approx([1.0, 0.25])
    assert found.covariance[0, 1] == pytest.approx(0.25 * shared, rel=1e-9)
    own = found.u_ratio[1] ** 2 + (0.25 * uncertainty.u_frequency_pct(80.0) / 100.0) ** 2
    assert found.covariance[1, 1] == pytest.approx(0.0625 * (total**2 + gain**2 * 8.0) + own, rel=1e-9)


@pytest.mark.parametrize(("unit", "exponent"), [("mm/s pk", 1.0), ("m/s2 pk", -1.0), ("um pk", -1.0)])
def test_which_way_a_wrong_integration_tilts_a_channel_follows_from_its_unit(unit, exponent):
    channel = replace(CHANNEL, input_unit=parse_unit(unit), sensor=None)
    hz = np.array([30.0, 60.0, 80.0, 120.0, 200.0])
    found = explain_channel([make_case("band-response", hz, np.full(5, 40.0), channel=channel)])
    assert found.of("wrong integration").fitted.variant.fixed == {"slope_exponent": exponent}


@pytest.mark.parametrize(("family", "seed"), [("leak", 6), ("cracked element", 8), ("loose mounting", 3)])
def test_an_explanation_that_fits_is_not_poor_however_poorly_the_others_fit(family, seed):
    found = explain_channel(simulate(family, seed=seed, full=bool(seed % 2))[2])
    assert (found.top.name, found.poor) == (family, False)
    assert found.top.fit_probability > 0.01 > 0.001 > found.of(HEALTHY).fit_probability
