"""A real calibration: 49 readings from 500 Hz to 20 kHz with real defects near 10, 14 and 18 kHz.

Data: PyDynamic 2.5.1 (LGPL-3.0-or-later), ``examples/Shock calibration/sinusoidal_calibration_values.txt``.
"""

from __future__ import annotations

import hashlib
from importlib import metadata
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import curve_fit

from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor, fit_sensor

SINE_CAL_SHA256 = "33835340f1757e00ddc89a0832a53c471db19e93a94295ad7b2a76cfb970f163"
# curve_fit S0/(1-(f/fn)^2), all 49; and of those to 10 kHz
SINE_CAL_FIT = {
    "S0": 0.227483042, "fn": 52090.9568, "max_rel_resid": 0.0194,
    "S0_to10k": 0.226950346, "fn_to10k": 47377.3624, "max_rel_resid_to10k": 0.0056,
    "rise_5k": 0.01017262638717642, "rise_10k": 0.04927778756385415, "rise_20k": 0.172141976395984,
    "first_over_5pct": 11501, "first_over_10pct": 15498,
}  # fmt: skip


@pytest.fixture(scope="module")
def calibration():
    files = metadata.files("PyDynamic") or []
    path = next(Path(f.locate()) for f in files if f.name == "sinusoidal_calibration_values.txt")
    assert hashlib.sha256(path.read_bytes()).hexdigest() == SINE_CAL_SHA256
    return np.loadtxt(path)[:, :2].T


@pytest.mark.parametrize(("limit", "suffix"), [(np.inf, ""), (10_000.0, "_to10k")])
def test_sensitivity_and_resonance(calibration, limit, suffix):
    f, s = calibration[:, calibration[0] <= limit]
    fit = fit_sensor(f, s, u_rel=0.0025 / s, terms=("rise",))  # equal absolute weights, as curve_fit's
    # the logarithm differs from the sensitivity itself in second order of the residuals
    assert pytest.approx(SINE_CAL_FIT[f"S0{suffix}"], rel=2e-4) == fit.S0
    assert fit.physics.resonance.value == pytest.approx(SINE_CAL_FIT[f"fn{suffix}"], rel=2e-3)
    worst = np.abs(s / evaluate_sensor(fit, f) - 1.0).max()
    assert worst == pytest.approx(SINE_CAL_FIT[f"max_rel_resid{suffix}"], abs=2e-4)


def test_curve_fit_of_the_logarithm_agrees(calibration):
    f, s = calibration
    fit = fit_sensor(f, s, u_rel=0.01, terms=("rise",))
    (ln_s0, fn), covariance = curve_fit(
        lambda f, ln_s0, fn: ln_s0 - np.log1p(-((f / fn) ** 2)),
        f,
        np.log(s),
        p0=(np.log(0.2), 5e4),
        xtol=1e-14,
        sigma=np.full(f.size, 0.01),
        absolute_sigma=True,
    )
    assert np.log(fit.S0) == pytest.approx(ln_s0, rel=1e-7)
    assert fit.physics.resonance.value == pytest.approx(fn, rel=1e-6)
    assert fit.covariance[0, 0] == pytest.approx(covariance[0, 0], rel=1e-3)
    half = 1.959964 * np.sqrt(covariance[1, 1]) / fn
    low, high = np.log(fit.physics.resonance.interval) - np.log(fit.physics.resonance.value)
    assert high == pytest.approx(half, rel=1e-3)
    assert low < -half  # an undamped resonance is the highest that the rise fits


def test_terms_not_asked_for_are_said_to_be(calibration):
    fit = fit_sensor(*calibration, u_rel=0.005, terms=("rise",))
    assert fit.physics.leak.value is None
    assert fit.physics.fall.value is None
    assert "not asked for" in fit.physics.leak.why
