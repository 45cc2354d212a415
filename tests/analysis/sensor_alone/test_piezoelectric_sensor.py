"""Rise towards resonance and RC droop: textbook values, which the sensor model must pass through exactly.

Rise 1/(1 - r^2), r = f/fn, of an undamped seismic element (textbook; printed as +4.2 % at fn/5, +12.5 % at fn/3);
droop 1/sqrt(1 + (fc/f)^2), fc = 1/(2 pi R C), of a first-order RC high pass (textbook). Recomputed exactly.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from vibcal_nb.analysis.sensor_alone.sensor_model import evaluate_sensor, fit_sensor

RISE = {
    1 / 10: 1.0101010101010102, 1 / 5: 1.0416666666666667, 0.22: 1.0508617065994115, 0.25: 1.0666666666666667,
    0.3: 1.0989010989010988, 1 / 3: 1.125, 0.5: 1.3333333333333333,
}  # fmt: skip
R_FOR_RISE = {
    0.01: 0.09950371902099896, 0.05: 0.2182178902359925, 0.10: 0.3015113445777637, 0.12: 0.32732683535398865,
    math.sqrt(2.0) - 1.0: 0.541196100146197,  # +3 dB
}  # fmt: skip
# Frequency over corner where the loss of a first-order high pass is 1, 5, 10 %
HP1_F_OVER_FC = {0.01: 7.017923929582521, 0.05: 3.0424349222966547, 0.10: 2.0647416048350564}
RC = {"R": 1e9, "C": 1e-9, "tau": 1.0, "fc": 0.15915494309189535}


@pytest.fixture(scope="module", params=[1.0, 23_000.0])
def resonant(request):
    """Fit to the published rises of a sensor of 5 pC/(m/s2) with its resonance at the parameter, in Hz."""
    fn = request.param
    f, s = np.array(list(RISE)) * fn, 5.0 * np.array(list(RISE.values()))
    return fn, fit_sensor(f, s, u_rel=0.01)


def test_the_resonance_is_found(resonant):
    fn, fit = resonant
    assert fit.terms == ("rise",)
    assert fit.physics.resonance.value == pytest.approx(fn, rel=1e-9)
    assert pytest.approx(5.0, rel=1e-9) == fit.S0


@pytest.mark.parametrize("rise", R_FOR_RISE)
def test_where_it_has_risen_by_so_much(resonant, rise):
    fn, fit = resonant
    assert evaluate_sensor(fit, R_FOR_RISE[rise] * fn) == pytest.approx(5.0 * (1.0 + rise), rel=1e-9)


@pytest.mark.parametrize(("share", "printed_pct"), [(1 / 5, 4.2), (1 / 3, 12.5)])
def test_the_figures_that_textbooks_print(resonant, share, printed_pct):
    fn, fit = resonant
    assert 100.0 * (evaluate_sensor(fit, share * fn) / 5.0 - 1.0) == pytest.approx(printed_pct, abs=0.05)


def test_at_and_above_the_resonance_the_model_is_infinite(resonant):
    fn, fit = resonant
    assert evaluate_sensor(fit, 1.001 * fn) == math.inf


def test_rc_corner():
    """R = 1 Gohm, C = 1 nF: a time constant of 1 s and its corner, found from the published losses."""
    assert 1.0 / (2.0 * math.pi * RC["R"] * RC["C"]) == pytest.approx(RC["fc"], rel=1e-15)
    ratio = np.array([*HP1_F_OVER_FC.values(), 1.0, 0.5])
    loss = np.array([*HP1_F_OVER_FC, 1.0 - math.sqrt(0.5), 1.0 - 1.0 / math.sqrt(5.0)])
    fit = fit_sensor(ratio * RC["fc"], 5.0 * (1.0 - loss), u_rel=0.01)
    assert fit.terms == ("droop",)
    assert fit.physics.leak.value == pytest.approx(RC["fc"], rel=1e-9)
    for at, lost in zip(ratio, loss, strict=True):
        assert evaluate_sensor(fit, at * RC["fc"]) == pytest.approx(5.0 * (1.0 - lost), rel=1e-9)


def test_rise_droop_and_fall_together():
    """A leak at 0.5 Hz, a resonance at 9 kHz and 1.5 % a decade, each found again from 30 readings."""
    f = np.geomspace(1.0, 3000.0, 30)
    decades = np.log10(f) - np.log10(f).mean()
    s = 5.0 / (1.0 - (f / 9000.0) ** 2) / np.sqrt(1.0 + (0.5 / f) ** 2) * (1.0 - 0.015 * decades)
    fit = fit_sensor(f, s, u_rel=1e-4)
    assert fit.terms == ("rise", "droop", "fall")
    assert (fit.physics.resonance.value, fit.physics.leak.value, fit.physics.fall.value) == pytest.approx(
        (9000.0, 0.5, 1.5), rel=1e-7
    )
    np.testing.assert_allclose(evaluate_sensor(fit, f), s, rtol=1e-9)
