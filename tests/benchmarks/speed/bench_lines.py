"""Microseconds per line fitted to ten readings: ``python -m tests.benchmarks.speed.bench_lines``."""

from __future__ import annotations

import timeit
from collections.abc import Callable

import numpy as np

from vibcal_nb.metrology.straight_line.nonlinearity import (
    independent_line,
    least_squares_line,
    nonlinearity,
    terminal_based_line,
    zero_based_line,
)
from vibcal_nb.metrology.straight_line.straight_line import (
    chi_squared_test,
    fit_line_through_zero,
    fit_straight_line,
    fit_straight_line_covariance,
    forward_evaluate,
    inverse_evaluate,
)

ROUNDS = 500


def cases() -> dict[str, Callable[[], object]]:
    """Return every fit and evaluation on ten readings of a channel of 4 mV/(mm/s)."""
    random = np.random.default_rng(1)
    x = np.linspace(1.0, 20.0, 10)
    y = 4.0 * x + 0.05 * random.standard_normal(10)
    u_x, u_y = 0.002 * x, np.full(10, 0.05)
    U_y = np.diag(u_y**2) + np.outer(0.005 * y, 0.005 * y)
    fit = fit_straight_line(x, y, u_x=u_x, u_y=u_y)
    return {
        "clause 6, u(y)": lambda: fit_straight_line(x, y, u_y=u_y),
        "clause 7, u(x) and u(y)": lambda: fit_straight_line(x, y, u_x=u_x, u_y=u_y),
        "clause 9, covariance of y": lambda: fit_straight_line_covariance(x, y, U_y=U_y),
        "Annex E, from the residuals": lambda: fit_straight_line(x, y),
        "through zero": lambda: fit_line_through_zero(x, y, u_y=u_y),
        "forward evaluation": lambda: forward_evaluate(fit, 11.0),
        "inverse evaluation": lambda: inverse_evaluate(fit, 44.0, u_y0=0.05),
        "chi-squared test": lambda: chi_squared_test(fit),
        "independent line": lambda: independent_line(x, y),
        "zero-based line": lambda: zero_based_line(x, y),
        "terminal-based line": lambda: terminal_based_line(x, y),
        "least-squares line": lambda: least_squares_line(x, y),
        "all four kinds": lambda: nonlinearity(x, y),
    }


def main() -> None:
    """Print the best of five repeats."""
    for name, call in cases().items():
        seconds = min(timeit.repeat(call, number=ROUNDS, repeat=5)) / ROUNDS
        print(f"{name:30s} {1e6 * seconds:8.1f} µs")


if __name__ == "__main__":
    main()
