"""What tests of drift are made of."""

from __future__ import annotations

from datetime import date

import numpy as np

from tests.support.published.kcdb_v_k1 import observation
from vibcal_nb.analysis.drift.drift import analyse_drift
from vibcal_nb.analysis.drift.standing import standings
from vibcal_nb.records.perform.history import USUAL


def analyse(observations, *, like=(), settings=USUAL):
    stood = [standings(items) for items in like]
    return analyse_drift(None, observations, like=stood, settings=settings, rng=np.random.default_rng(1))


def yearly(values, **more):
    return [observation(v, day=date(2020 + i, 5, 1), **more) for i, v in enumerate(values)]
