"""EWMA control chart: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 (data from memory)."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from vibcal_nb.metrology.over_time.ewma import chart_ewma

X = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6]
X += [52.1]
Z = "50.00 50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 50.11 49.36 49.52 50.05 49.38 49.92 50.73 51.23"
Z += " 51.94 51.99"


@pytest.fixture
def chart():
    return chart_ewma(X, start=50.0, s=2.0539, weight=0.3, k=3.0)


def test_every_printed_average(chart):
    assert [f"{z:.2f}" for z in chart.z] == Z.split()


def test_the_printed_limits(chart):
    assert f"{chart.upper_limit:.4f}" == "52.5884"
    assert f"{chart.lower_limit:.4f}" == "47.4116"  # from s as printed; the handbook prints 47.4115
    assert f"{chart.lower_limit:.6f}" == "47.411568"


def test_no_point_is_out_and_the_last_five_rise(chart):
    assert chart.out == ()
    assert (np.diff(chart.z[-6:]) > 0.0).all()


def test_a_point_outside_is_numbered():
    assert chart_ewma([50.0, 60.0, 50.0], start=50.0, s=1.0, weight=0.3).out == (2, 3)


def test_against_pandas():
    values = np.random.default_rng(5).normal(1.0, 2.0, 50)
    expected = pd.Series([1.0, *values]).ewm(alpha=0.2, adjust=False).mean()
    assert chart_ewma(values, start=1.0, s=2.0, weight=0.2).z == pytest.approx(expected.to_numpy(), rel=1e-13)


@pytest.mark.parametrize("wrong", [{"weight": 0.0}, {"weight": 1.2}, {"s": 0.0}, {"k": -1.0}])
def test_what_makes_no_chart_is_refused(wrong):
    with pytest.raises(ValueError, match="give a weight above 0"):
        chart_ewma(X, **({"start": 50.0, "s": 1.0, "weight": 0.3, "k": 3.0} | wrong))
