"""Simulated sites as deviations of channels over visits, with known truth: for the search for common shifts.

Sizes as in the demo site: a certificate of 1 % (k = 2), drift of the reference 0.2 % a year, readout 0.2 %
(k = 2), a temperature of the visit, and what belongs to a channel at a visit alone.
"""

from __future__ import annotations

import math

import numpy as np

from vibcal_nb.analysis.site.common_shift import OccasionLevel

ROOT_3 = math.sqrt(3.0)
U_OWN = 0.25


def simulate_site(
    rng, *, channels=20, visits=3, expanded_pct=1.0, scatter="demo", shifted=None, shift_pct=2.0, faults=2
):
    """Return the levels of a site. ``scatter``: how the reference's error varies between visits.

    ``demo``: uniform within 0.4 of the certificate's U, as the demo site's generator draws it; ``stated``: normal,
    as wide as the certificate states. ``shifted`` is the visit whose reference is off by ``shift_pct``.
    """
    u = expanded_pct / 2.0
    level, drift = rng.normal(0.0, 1.0, channels), rng.uniform(-0.2, 0.2, channels)
    gross = np.zeros((channels, visits))
    for _ in range(faults):
        gross[rng.integers(channels), rng.integers(visits)] = rng.choice([-50.0, -7.0, -14.0, 4.6, 41.4])
    rows = []
    for visit in range(visits):
        error = rng.uniform(-0.4, 0.4) * expanded_pct if scatter == "demo" else rng.normal(0.0, u)
        error += rng.uniform(-0.2, 0.2) + rng.normal(0.0, 0.1) + rng.uniform(-0.2, 0.2)
        error += shift_pct if visit == shifted else 0.0
        shared = {
            f"reference level, {visit}": u,
            f"reference drift, {visit}": 0.2 / ROOT_3,
            f"readout gain, {visit}": 0.1,
            f"temperature, {visit}": 0.2 / ROOT_3,
        }
        for i in range(channels):
            own = rng.normal(0.0, U_OWN)
            deviation = level[i] + drift[i] * visit + gross[i, visit] + error + own
            rows.append(
                OccasionLevel(
                    channel=f"V{i}",
                    occasion=f"visit {visit}",
                    level_pct=deviation,
                    u_own_pct=U_OWN,
                    shared_pct=shared,
                )
            )
    return rows
