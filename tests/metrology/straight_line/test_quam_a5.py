"""Eurachem/CITAC Guide QUAM, 3rd edition (2012), Example A5: a line and a value read back from it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vibcal_nb.metrology.straight_line.straight_line import fit_straight_line, inverse_evaluate

# fmt: off
QUAM_A5 = {
    "c": [0.1, 0.1, 0.1, 0.3, 0.3, 0.3, 0.5, 0.5, 0.5, 0.7, 0.7, 0.7, 0.9, 0.9, 0.9],
    "A": [0.028, 0.029, 0.029, 0.084, 0.083, 0.081, 0.135, 0.131, 0.133, 0.180, 0.181, 0.183, 0.215, 0.230,
          0.216],
    "B0": "0.0087", "uB0": "0.0029", "B1": "0.2410", "uB1": "0.0050", "corr": "-0.870", "S": "0.005486",
    "Sxx": 1.2,
    "readings": [0.0712, 0.0716], "c0": "0.260", "uc0": "0.018",
    "c0_full": 0.26016597510373446, "uc0_full": 0.017844611125583144}
# fmt: on


def test_line_every_printed_digit() -> None:
    fit = fit_straight_line(QUAM_A5["c"], QUAM_A5["A"])
    assert f"{fit.intercept:.4f}" == QUAM_A5["B0"]
    assert f"{fit.u_intercept:.4f}" == QUAM_A5["uB0"]
    assert f"{fit.slope:.4f}" == QUAM_A5["B1"]
    assert f"{fit.u_slope:.4f}" == QUAM_A5["uB1"]
    assert f"{fit.correlation:.3f}" == QUAM_A5["corr"]
    assert f"{fit.scale:.6f}" == QUAM_A5["S"]
    assert (fit.scale / fit.u_slope) ** 2 == pytest.approx(QUAM_A5["Sxx"], rel=1e-12)
    assert fit.degrees_of_freedom == 13


def test_concentration_from_two_readings() -> None:
    fit = fit_straight_line(QUAM_A5["c"], QUAM_A5["A"])
    found = inverse_evaluate(fit, float(np.mean(QUAM_A5["readings"])), u_y0=fit.scale / math.sqrt(2))
    assert f"{found.x0:.3f}" == QUAM_A5["c0"]
    assert f"{found.u_x0:.3f}" == QUAM_A5["uc0"]
    assert found.x0 == pytest.approx(QUAM_A5["c0_full"], rel=1e-12)
    assert found.u_x0 == pytest.approx(QUAM_A5["uc0_full"], rel=1e-12)
