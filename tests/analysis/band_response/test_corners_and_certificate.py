"""What a certificate's error that frequencies within an octave share does to corners: readings moved, and fitted anew.

The octave is this project's judgement, no source. Shifts of readings are an independent check of a covariance: nothing
of the covariance's arithmetic is in them.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from scipy import linalg, stats

from tests.support.readings.cases import REFERENCE, make_case
from tests.support.readings.filters import FilteredBand, butter
from tests.support.readings.simulated_channels import TAG, TWO_ROTORS, Kit, Truth, write_rows
from tests.support.sites.plants import build_site
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.numerics.correlated_errors import CorrelatedErrors
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.model.equipment import ReferenceBand

HZ = np.sort(np.append(np.geomspace(8.0, 1000.0, 25), [20.0, 80.0, 400.0]))
RESPONSE = np.abs(FilteredBand((butter(2), 20.0), (butter(2), 400.0)).response(HZ))
CERTIFICATE_PCT, CHANNELS = 1.5, 60


def analyse(correlation, *, moved=0.0):
    """A band read at ``HZ``; readings within an octave about the upper corner moved by a ratio."""
    near = np.abs(np.log2(HZ / 400.0)) <= 0.5
    case = make_case("band-response", HZ, 40.0 * RESPONSE * np.where(near, 1.0 + moved, 1.0))
    band = ReferenceBand(from_hz=1.0, to_hz=2000.0, expanded_pct=CERTIFICATE_PCT, k=2.0)
    reference = replace(REFERENCE, correlation=correlation, uncertainty=(band,))
    return analyse_band_response(replace(case, references=(reference,)))


@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.9])
def test_a_corner_allows_for_one_error_of_the_readings_around_it(correlation):
    own = math.sqrt(1.0 - correlation) * CERTIFICATE_PCT / 200.0
    still, moved = analyse(correlation), analyse(correlation, moved=own)
    for name in ("hz", "interpolated_hz"):
        shift = abs(math.log(getattr(moved.corners["high"], name) / getattr(still.corners["high"], name)))
        interval = still.corners["high"].interval_hz
        if name == "interpolated_hz":
            interval = still.corners["high"].interpolated_interval_hz
        half = 0.5 * math.log(interval[1] / interval[0])
        assert shift > 0.3 * own  # second order: the response falls as the frequency there
        assert half > 1.9 * shift
        assert half < 5.0 * math.hypot(shift, 0.004)


def test_one_error_at_all_frequencies_leaves_a_corner_as_it_is():
    by_share = [analyse(correlation).corners["high"].expanded.U for correlation in (1.0, 0.9, 0.5, 0.0)]
    assert by_share == sorted(by_share)
    assert by_share[0] < 0.6 * by_share[-1]
    assert analyse(1.0).fit.errors.otherwise.size == 0


def test_corners_hold_the_truth_where_half_of_the_variance_differs_by_octave(tmp_path):
    """A guard beside ``tests/benchmarks/truth/bench_channels.py``; shifts by octave, filters by scipy.signal."""
    kit, held = Kit(octaves=1.0), Counter()
    for number in range(CHANNELS):
        rng = np.random.Generator(np.random.PCG64([20261201, number]))
        truth = Truth(gain=1.0, low=rng.uniform(17, 23), high=rng.uniform(350, 450))
        rows = write_rows(truth, kit, rng, tests=["band-response"])
        visit = load_visit(build_site(tmp_path, rows, asset=TWO_ROTORS, equipment=kit.equipment))
        (case,) = select_channel_case(visit, channel=TAG, condition="as-found").tests.values()
        for side, corner in analyse_band_response(case).corners.items():
            held[side] += corner.interval_hz[0] <= getattr(truth, side) <= corner.interval_hz[1]
    for side in ("low", "high"):
        assert stats.binomtest(held[side], CHANNELS, 0.95, alternative="less").pvalue > 1e-2, (side, held[side])


def test_the_scatter_of_readings_tells_whether_neighbours_share_errors():
    """Two kinds drawn in turn; the probability against densities of what no fit takes up, by scipy, in a null space."""
    rng = np.random.Generator(np.random.PCG64(20261202))
    x = np.linspace(0.0, 4.0, 25)
    shared = 0.005**2 * (np.maximum(1.0 - np.abs(x[:, None] - x[None, :]), 0.0) - np.eye(x.size))
    errors = CorrelatedErrors(own=np.hypot(np.full(x.size, 0.005), 0.002), otherwise=shared)
    slope = np.vander(x, 3)
    left = linalg.null_space(slope.T)
    kinds = [errors.covariance, errors.covariance + shared]
    told = []
    for number in range(40):
        residual = rng.multivariate_normal(np.zeros(x.size), kinds[number % 2])
        seen = [stats.multivariate_normal(cov=left.T @ kind @ left).pdf(left.T @ residual) for kind in kinds]
        told.append(errors.told_by(residual, slope))
        assert told[-1] == pytest.approx(seen[1] / (seen[0] + seen[1]), rel=1e-6, abs=1e-12)
    assert np.mean(told[1::2]) > 0.95
    assert np.mean(told[0::2]) < 0.05
    half = errors.shared_by(0.5)
    assert half.variance(slope[:, 0]) == pytest.approx(
        slope[:, 0] @ (kinds[0] + kinds[1]) @ slope[:, 0] / 2.0, rel=1e-12
    )
