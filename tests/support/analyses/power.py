"""What tests of power are made of."""

from __future__ import annotations

import numpy as np

from tests.support.analyses.plan import SHAKERS
from tests.support.places import DEMO
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.planning.channel_plan import plan_channel
from vibcal_nb.analysis.planning.planned_case import Instruments, with_outputs
from vibcal_nb.analysis.planning.power import simulate_outputs
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.inputs.load_visits import load_visit

ANALYSE = {
    "linearity": analyse_linearity,
    "band-response": analyse_band_response,
    "sensor-alone": analyse_sensor_alone,
}
DEMO_PLANS = (
    ("STG-1/2026-05-19", "STG-1-V21"),
    ("BFP-2/2026-04-21", "BFP-2-A12"),
    ("FDF-3/2026-05-05", "FDF-3-V11"),  # judged with a guard band
)


def planned(visit, channel, **how):
    folder = load_visit(DEMO / visit)
    plan = plan_channel(folder.asset.channels[channel], shaker=SHAKERS[0], others=SHAKERS, **how)
    return plan, Instruments(visit=folder.visit, references=folder.references, readouts=folder.readouts)


def found_by_full_analysis(tests, fault, *, seed, trials):
    """Each simulated visit through the analyses that make the records."""
    outputs = simulate_outputs(tests, fault, rng=np.random.default_rng(seed), trials=trials)
    found = np.zeros(trials, dtype=bool)
    for test, runs in zip(tests, outputs, strict=True):
        for trial, y in enumerate(runs):
            case = with_outputs(test.case, y + test.case.output_zero)
            found[trial] |= ANALYSE[test.case.test](case).verdict in ("fail", "conditional fail")
    return found
