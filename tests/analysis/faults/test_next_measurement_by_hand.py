"""What to measure next: expected information in a second way, and which readings are offered, worked out by hand."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, stats

from tests.support.analyses.faults import simulate
from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.faults.chain_model import added_ratio, predict_ratio
from vibcal_nb.analysis.faults.fault_families import (
    HEALTHY,
    NONE_OF_THESE,
    ChannelKind,
    fault_families,
    searched_families,
)
from vibcal_nb.analysis.faults.faults import FaultExplanations, explain_channel
from vibcal_nb.analysis.faults.next_measurement import (
    CHECKS,
    candidate_points,
    mixture_information,
    suggest_checks,
    suggest_readings,
)

WRONG = 0.07  # how often a check misleads, as documented


@pytest.fixture
def found():
    return explain_channel(simulate("module gain", size=1, sensor=False, change={"module": 0.87, "sensor": 1.0})[2])


def entropy(*shares):
    return -math.fsum(p * math.log(p) for p in shares if p > 0.0)


def weighing(found):
    return [e for e in found.explanations if e.weight >= 0.003 and e.name != NONE_OF_THESE]


def information_of_check(found, shows):
    """Mutual information of explanation and answer from their joint distribution: both entropies less the joint one."""
    kept = weighing(found)
    total = math.fsum(e.weight for e in kept)
    joint = []
    for item in kept:
        hit = max(shows.get(key, 0.0) for key in (*item.names, *item.fitted.family.part.split(", ")))
        yes = WRONG + (1.0 - 2.0 * WRONG) * hit
        joint += [(item.weight / total * yes), (item.weight / total * (1.0 - yes))]
    answers = math.fsum(joint[::2]), math.fsum(joint[1::2])
    explanations = [a + b for a, b in zip(joint[::2], joint[1::2], strict=True)]
    return entropy(*explanations) + entropy(*answers) - entropy(*joint)


def test_a_check_tells_its_mutual_information(found):
    expected = {text: information_of_check(found, shows) for text, shows in CHECKS.items()}
    suggested = suggest_checks(found, count=len(CHECKS))
    assert {s.check: s.information for s in suggested} == pytest.approx(expected, abs=1e-12)
    assert [s.information for s in suggested] == pytest.approx(sorted(expected.values(), reverse=True), abs=1e-12)
    assert suggest_checks(found) == suggested[:2]
    for item in suggested:
        assert (item.test, item.frequency_hz, item.level, item.falling, item.would_read) == (
            None,
            None,
            None,
            False,
            (),
        )


def test_every_fault_has_a_check_that_shows_it_and_nothing_else_is_named():
    """A check finds what it is made for every time, and what it finds by the way less often."""
    found = explain_channel(simulate("healthy")[2])
    points = found.readings.points
    any_kind = fault_families(points, ChannelKind(is_velocity=True, is_dc=True))
    families = {family.name for family in (*any_kind, *searched_families(points, 0.1, (0.5,)))} - {HEALTHY}
    assert {s.check for s in suggest_checks(found, count=99)} == set(CHECKS)
    parts = {"module", "sensor", "settings"}
    assert {name for shows in CHECKS.values() for name in shows} <= families | parts
    for shows in CHECKS.values():
        assert all(0.0 < share <= 1.0 for share in shows.values())
        assert 1.0 in shows.values()
    sure = {name for shows in CHECKS.values() for name, share in shows.items() if share == 1.0}
    shown_by_exchange = {"module gain", "sensor lost sensitivity", "cracked element", "changed damping"}
    assert families - sure == shown_by_exchange | {"dead or stuck output"}


def test_two_explanations_that_a_check_separates_but_for_its_errors(found):
    """H2(1/2) - H2(0.07) = ln 2 less the entropy of misleading."""
    healthy, other = found.of(HEALTHY), found.of("leak")
    pair = replace(found, explanations=(replace(healthy, weight=0.5), replace(other, weight=0.5)))
    (best, *_) = suggest_checks(pair)
    assert best.check.startswith("measure the insulation resistance")
    assert best.information == pytest.approx(math.log(2.0) - entropy(WRONG, 1.0 - WRONG), rel=1e-9)
    alone = replace(found, explanations=(replace(healthy, weight=1.0),))
    assert suggest_checks(alone)[0].information == 0.0


def predicted(item, at):
    """Prediction and what its parameters leave open of it, by central differences of the model itself."""
    fitted = item.fitted
    mean = predict_ratio(fitted.parameters[None, :], at)[0]
    slopes = []
    for column, spread in zip(fitted.free, fitted.spread, strict=True):
        up, down = fitted.parameters.copy(), fitted.parameters.copy()
        up[column] += 1e-3 * spread
        down[column] -= 1e-3 * spread
        slopes.append((predict_ratio(up[None, :], at)[0] - predict_ratio(down[None, :], at)[0]) / 2e-3)
    slope = np.array(slopes)
    low = np.minimum(1.0, at.reference_hz / at.frequency_hz)
    scatter = max(fitted.variant.scatter, 0.0) * low * mean
    unsteady = fitted.variant.unsteady * added_ratio(fitted.parameters[None, :], at)[0]
    return mean, np.sqrt(np.einsum("kc,kl,lc->c", slope, fitted.covariance, slope) + scatter**2 + unsteady**2)


@pytest.mark.parametrize("family", ["module gain", "noise floor", "cable strain"])
def test_readings_are_suggested_by_the_information_that_each_is_expected_to_give(family):
    found = explain_channel(simulate(family, size=1)[2])
    at = candidate_points(found)
    kept = weighing(found)
    weights = np.array([e.weight for e in kept])
    mean, spread = (np.stack(list(rows)) for rows in zip(*(predicted(e, at) for e in kept), strict=True))
    error = 0.004 * np.abs(mean)  # of one more reading, as documented
    expected = mixture_information(weights / weights.sum(), mean, np.hypot(spread, error))
    best = suggest_readings(found, at, count=3)
    assert [s.information for s in best] == pytest.approx(sorted(expected, reverse=True)[:3], rel=1e-3, abs=1e-6)
    index = int(np.argmax(expected))
    first = best[0]
    assert first.frequency_hz == at.frequency_hz[index]
    assert first.level == pytest.approx(at.level[index] * found.readings.full_scale)
    assert first.falling == bool(at.falling[index])
    assert [name for name, _ in first.would_read] == [e.name for e in kept[:3]]
    assert [value for _, value in first.would_read] == pytest.approx(mean[:3, index])
    assert len(suggest_readings(found, at)) == 2


@pytest.mark.parametrize(
    ("weights", "sds"),
    [((0.5, 0.5), (1.0, 1.0)), ((0.2, 0.8), (0.5, 2.0)), ((0.6, 0.4), (2.0, 1.0)), ((0.5, 0.5), (0.1, 4.0))],
)
def test_information_of_unlike_normals_against_adaptive_quadrature(weights, sds):
    """Entropy of the mixture less the mean entropy of its parts, ln(sd) + ln(2 pi e)/2 each."""
    means = (0.0, 1.5)
    density = lambda y: sum(w * stats.norm.pdf(y, m, s) for w, m, s in zip(weights, means, sds, strict=True))  # noqa: E731
    whole, _ = integrate.quad(lambda y: -density(y) * math.log(density(y)), -30.0, 30.0, limit=400, points=[-0.5, 0.5])
    parts = sum(w * (math.log(s) + 0.5 * math.log(2.0 * math.pi * math.e)) for w, s in zip(weights, sds, strict=True))
    found = mixture_information(np.array(weights), np.array(means)[:, None], np.array(sds)[:, None])
    assert found[0] == pytest.approx(whole - parts, abs=1e-6)


def test_information_lies_between_nothing_and_the_entropy_of_the_weights():
    weights = np.array([0.3, 0.7])
    for apart, sd in itertools.product((0.0, 1e-9, 0.1, 10.0, 1e6), (1e-6, 1.0)):
        found = mixture_information(weights, np.array([[0.0], [apart]]), np.full((2, 1), sd))[0]
        assert 0.0 <= found <= entropy(0.3, 0.7) + 1e-12


HZ = np.array([40.0, 80.0, 160.0])


def offered(*cases) -> tuple[FaultExplanations, dict]:
    found = explain_channel(cases)
    at = candidate_points(found)
    rows = {test: [] for test in range(3)}
    for row in zip(at.test, at.frequency_hz, at.level, at.falling, strict=True):
        rows[int(row[0])].append(tuple(float(v) for v in row[1:]))
    return found, rows


def test_levels_offered_are_shares_of_the_highest_driven_rising_and_falling():
    channel = replace(CHANNEL, full_scale=20.0)
    levels = np.array([2.0, 5.0, 10.0, 2.0, 4.0])
    case = make_case("linearity", np.array([50.0] * 3 + [149.0] * 2), 4.0 * levels, applied=levels, channel=channel)
    _, rows = offered(case)
    expected = [
        (hz, share * top, falling)
        for hz, top in ((50.0, 0.5), (149.0, 0.2))
        for share in (0.03, 0.1, 0.25, 0.5, 0.75, 1.0)
        for falling in (0.0, 1.0)
    ]
    assert rows[0] == [pytest.approx(row) for row in sorted(expected)]
    assert {level for _, level, _ in rows[1]} == {0.1}  # no band response was read
    assert [hz for hz, _, _ in rows[1]] == [float(f"{hz:.3g}") for hz in np.geomspace(50.0, 149.0, 14)]
    # the sensor alone was not read: where the channel was, at 10 of its unit
    assert {level for _, level, _ in rows[2]} == {10.0 / 20.0}
    assert [hz for hz, _, _ in rows[2]] == [hz for hz, _, _ in rows[1]]


def test_frequencies_offered_lie_within_what_was_read_at_the_median_level():
    band = make_case("band-response", HZ, 4.0 * np.array([8.0, 10.0, 30.0]), applied=np.array([8.0, 10.0, 30.0]))
    sensor = make_case(
        "sensor-alone", np.array([20.0, 80.0, 320.0]), 5.0 * np.array([9.0, 10.0, 11.0]), applied=[9.0, 10.0, 11.0]
    )
    _, rows = offered(
        replace(band, channel=replace(CHANNEL, full_scale=40.0)),
        replace(sensor, channel=replace(CHANNEL, full_scale=40.0)),
    )
    assert rows[0] == []
    assert (rows[1][0][0], rows[1][-1][0], {level for _, level, _ in rows[1]}) == (40.0, 160.0, {0.25})
    assert (rows[2][0][0], rows[2][-1][0], {level for _, level, _ in rows[2]}) == (20.0, 320.0, {0.25})
    assert {falling for test in (1, 2) for _, _, falling in rows[test]} == {0.0}


def test_a_channel_without_a_stated_sensor_is_not_offered_its_test():
    bare = replace(CHANNEL, sensor=None)
    assert offered(make_case("band-response", HZ, np.full(3, 40.0), channel=bare))[1][2] == []
    alone = offered(make_case("sensor-alone", HZ, np.full(3, 50.0)))[1]
    assert (alone[0], alone[1]) == ([], [])
    assert len(alone[2]) == 14
