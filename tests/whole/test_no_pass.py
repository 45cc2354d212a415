"""What must never be called a pass, from the files of a visit to the verdict that a record carries.

Each visit was once called a pass, or a set point shown, that a reviewer must not accept. The limits of what is enough
(levels, certificates, U) are those of ISO/IEC 17025:2017, 6.5, JCGM 106:2012, 8.2, and of this project where the
tests of the gates say so.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.readings.filters import butter, chebyshev, damped
from tests.support.sites.plants import ASSET, EQUIPMENT, VISIT, build_site, linearity_rows
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.records.perform.perform import perform

TAG = "STG-1-V11"
LINE_ONLY = ASSET[: ASSET.index(f"[channels.{TAG}.band]")]
TWO_ROTORS = LINE_ONLY.replace("[rotors]", "[rotors]\npinion = { speed_rpm = 8940 }").replace(
    'rotors = ["turbine"]', 'rotors = ["turbine", "pinion"]'
)
GOOD = linearity_rows()
NARROW = LINE_ONLY.replace("tolerance_pct = 5.0", "tolerance_pct = 0.5")


def linearity(folder, **files):
    """The linearity test and the whole channel, as performed from written files."""
    visit = load_visit(build_site(folder, files.pop("rows", GOOD), asset=files.pop("asset", LINE_ONLY), **files))
    channel = analyse_channel(select_channel_case(visit, channel=TAG, condition="as-found"), explain=False)
    return perform(visit, channel=TAG, analysis="linearity", condition="as-found"), channel


def rows(levels, outputs):
    return [f"{TAG},linearity,as-found,50,{x},mm/s pk,{y},mV pk,,,," for x, y in zip(levels, outputs, strict=True)]


def test_with_everything_in_order_it_passes(tmp_path):
    """So that what keeps the others from passing is what each of them changes."""
    test, channel = linearity(tmp_path)
    assert (test.verdict, channel.verdict) == ("pass", "pass")


EXCLUDED = [row.replace(",,,,", ",,,looked odd,") for row in linearity_rows((3.0, 7.0, 12.0, 17.0), gain=3.6)]
NO_PASS = {
    "no reference": {"visit": VISIT.replace('"REF-1", ', "")},
    "no readout": {"visit": VISIT.replace(', "DVM-1"', "")},
    "certificate had run out": {
        "equipment": EQUIPMENT.replace("2026-01-10", "2022-01-10", 1).replace("2027-01-10", "2023-01-10", 1)
    },
    "calibrated after the visit": {
        "equipment": EQUIPMENT.replace("calibrated = 2026-01-10", "calibrated = 2026-06-10", 1)
    },
    "outside the certificate": {"equipment": EQUIPMENT.replace("from_hz = 5,", "from_hz = 55,")},
    "uncertainty too large": {"asset": NARROW, "rows": linearity_rows(gain=4.0)},
    "levels too close together": {"rows": linearity_rows((1.00, 1.04, 1.09))},
    "rotor not tested": {"asset": TWO_ROTORS},
    "excluded readings": {"rows": [*GOOD, *EXCLUDED]},
    "rows not read": {"rows": [*GOOD[:-1], f"{TAG},linearity,as-found,50,20,mm/s pk,,mV pk,,,,"]},
}


@pytest.mark.parametrize("gate", NO_PASS)
def test_no_pass_where(tmp_path, gate):
    for result in linearity(tmp_path, **NO_PASS[gate]):
        assert result.verdict == "not verified"
        (met,) = [item for item in result.gates if item.gate == gate]
        assert met.sentence in compose_statement(result)


def reach(folder, **files):
    _, channel = linearity(folder, **files)
    return channel, {point.set_point: point for point in channel.reach}


def test_no_trip_is_demonstrated_by_an_output_that_did_not_come_to_it(tmp_path):
    """Driven to 18.000, where the output is 69.979 mV and the trip is 72 mV."""
    levels = (2.0, 5.0, 10.0, 14.0, 18.000)
    _, points = reach(tmp_path, rows=rows(levels, (8.0, 20.0, 40.0, 56.0, 69.979)))
    assert points["trip"].status != "demonstrated"


def test_no_set_point_is_shown_far_below_all_readings(tmp_path):
    levels = (100.0, 400.0, 1000.0, 2000.0)
    channel, points = reach(tmp_path, rows=rows(levels, [4.0 * x for x in levels]))
    assert channel.verdict == "not verified"
    assert {point.status for point in points.values()} == {"not verified"}


def test_a_loop_that_stops_at_10_10_ma_fails(tmp_path):
    """Trip at 11 mm/s is 11.04 mA; driven to 118 % of it. The readings around the alert are exact."""
    loop = (
        LINE_ONLY.replace('"mm/s pk"', '"mm/s rms"')
        .replace('"mV pk"', '"mA dc"\noutput_zero = 4.0\nfull_scale = 25')
        .replace("nominal_sensitivity = 4.0", "nominal_sensitivity = 0.64")
        .replace("alert = 11.0", "alert = 7.1")
        .replace("trip = 18.0", "trip = 11.0")
    )
    levels = (1.5, 3.0, 5.0, 7.0, 9.0, 13.0)
    table = [f"{TAG},linearity,as-found,50,{x},mm/s rms,{min(4.0 + 0.64 * x, 10.10):.3f},mA dc,,,," for x in levels]
    channel, points = reach(tmp_path, asset=loop, rows=table)
    assert (channel.verdict, points["trip"].status) == ("fail", "does not act")
    assert (points["alert"].status, points["alert"].true_level) == ("demonstrated", pytest.approx(7.1, abs=0.01))


@pytest.mark.parametrize("noise", [0.3, 1.0])
def test_a_zero_reading_with_noise_lowers_no_sensitivity(tmp_path, noise):
    levels = (0.0, 1.0, 2.0, 5.0, 9.0, 14.0, 20.0)
    test, _ = linearity(tmp_path, rows=rows(levels, [f"{np.hypot(4.0 * x, noise):.3f}" for x in levels]))
    (item,) = test.frequencies
    assert abs(item.line.deviation_pct) < 0.2


def test_each_reading_has_the_reference_that_covers_it(tmp_path):
    low = EQUIPMENT.replace('"REF-1"', '"LOW-1"').replace("from_hz = 5, to_hz = 10000", "from_hz = 0.5, to_hz = 20")
    low = low[: low.index("[[readout]]")]
    test, _ = linearity(tmp_path, equipment=low + EQUIPMENT, visit=VISIT.replace('["REF-1"', '["LOW-1", "REF-1"'))
    assert test.verdict == "pass"
    (item,) = test.frequencies
    sources = [line.source for line in item.line.budget.lines if line.name == "reference level"]
    assert "REF-1" in sources[0] and "LOW-1" not in compose_statement(test)


HZ = np.array([5, 6.3, 8, 9, 10, 11, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 125, 250, 500, 800, 1000, 1250, 1600])


def band(folder, low, *, limits):
    """A band whose low side is ``low``, a low pass turned round at 10 Hz, as performed from written files."""
    response = np.abs(low(10.0 / HZ) * butter(2).gain(HZ / 1000.0))
    noise = np.exp(0.003 * np.random.default_rng(1).standard_normal(HZ.size))
    table = [
        f"{TAG},band-response,as-found,{f:g},10.000,mm/s pk,{y:.3f},mV pk,,,,"
        for f, y in zip(HZ, 40.0 * response * noise, strict=True)
    ]
    asset = ASSET.replace("corner_low_hz = 20", "corner_low_hz = 10").replace("corner_high_hz = 400", limits)
    visit = load_visit(
        build_site(
            folder,
            table,
            asset=asset.replace("flat_hz = [40, 200]\nflat_pct = 5.0", "flat_hz = [40, 500]\nflat_pct = 20.0"),
        )
    )
    return perform(visit, channel=TAG, analysis="band-response", condition="as-found")


def test_a_second_order_corner_is_not_that_of_a_butterworth_filter(tmp_path):
    """Damping 0.65: half power at 9.26 Hz of the plateau, at 9.28 Hz re 80 Hz; a Butterworth filter would say 9.88."""
    result = band(tmp_path, damped(0.65).gain, limits="corner_high_hz = 1000")
    low, high = result.corners["low"].interval_hz
    assert low < 9.2571 < high and low < 9.2752 < high
    assert high < 9.75


def test_nothing_is_decided_by_a_model_that_does_not_describe_the_readings(tmp_path):
    """A Chebyshev filter of sixth order is none of those that are tried: a limit between its readings stays open."""
    shape = chebyshev(6, 1.0)
    result = band(
        tmp_path,
        lambda w: shape.gain(w * shape.half_power),
        limits="limits = [{ hz = 14, min_pct = 50, max_pct = 105 }]",
    )
    assert (result.adequate, result.verdict) == (False, "not verified")
    assert "band model does not hold" in [gate.gate for gate in result.gates]
    assert result.corners["low"].source == "interpolated"


def test_the_channel_is_only_as_good_as_its_reach(tmp_path):
    """The overview shows this verdict, and no pass of the tests beside it."""
    levels = (1.001, 2.001, 3.001, 4.001)
    test, channel = linearity(tmp_path, rows=rows(levels, [f"{4.0 * x:.3f}" for x in levels]))
    assert (test.verdict, channel.verdict) == ("pass", "not verified")
    assert [point.set_point for point in channel.unverified] == ["alert", "trip"]
