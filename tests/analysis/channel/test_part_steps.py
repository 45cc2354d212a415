"""Steps along the channel: their product is the channel's deviation, their U what a simulation scatters by."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.places import DEMO
from vibcal_nb.analysis.channel.part_steps import FILTER, JOINT, MODULE, SENSOR, part_steps, parts_to_blame
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import AS_FOUND, AS_LEFT, CHANNEL_VERDICT
from vibcal_nb.records.perform.perform import perform


def verdict_on(visit, channel, condition=AS_FOUND):
    return perform(load_visit(DEMO / visit), channel=channel, analysis=CHANNEL_VERDICT, condition=condition)


CHANNELS = [
    ("STG-1/2026-05-19", "STG-1-V12", AS_FOUND, [(SENSOR,), (JOINT,), (MODULE,), (FILTER,)]),  # module alone read
    ("STG-1/2026-05-19", "STG-1-V21", AS_FOUND, [(SENSOR,), (JOINT, MODULE), (FILTER,)]),
    ("BFP-2/2026-04-21", "BFP-2-A22", AS_LEFT, [(SENSOR,), (JOINT, MODULE), (FILTER,)]),
]


@pytest.mark.parametrize(("visit", "channel", "condition", "parts"), CHANNELS)
def test_the_product_of_all_steps_is_the_channel(visit, channel, condition, parts):
    result = verdict_on(visit, channel, condition)
    main = result.attribution.main
    steps = part_steps(main, result.tests)
    assert [step.parts for step in steps] == parts
    assert math.prod(1.0 + step.deviation_pct / 100.0 for step in steps) == pytest.approx(
        1.0 + main.channel_pct / 100.0
    )


def test_the_uncertainty_of_what_is_left_over_is_what_a_simulation_scatters_by():
    """Monte Carlo by JCGM 101:2008, 5.9: rest and module drawn apart, their quotient taken."""
    result = verdict_on("STG-1/2026-05-19", "STG-1-V12")
    main = result.attribution.main
    _, joint, module, taken = part_steps(main, result.tests)
    (alone,) = [item.line for item in result.tests.module.frequencies]
    rng = np.random.default_rng(20260519)
    rest = rng.normal(main.rest_pct, main.rest.u, 200_000)
    injected = rng.normal(alone.deviation_pct, alone.deviation_expanded.u, 200_000)
    left = 100.0 * ((100.0 + rest) / (100.0 + injected) - 1.0)
    assert joint.deviation_pct == pytest.approx(left.mean(), abs=0.01)
    assert joint.expanded.u == pytest.approx(left.std(), rel=0.01)
    band = rng.normal(taken.deviation_pct, taken.expanded.u, 200_000)
    gain = 100.0 * ((100.0 + injected) / (100.0 + band) - 1.0)
    assert module.deviation_pct == pytest.approx(gain.mean(), abs=0.01)
    assert module.expanded.u == pytest.approx(gain.std(), rel=0.01)


@pytest.mark.parametrize(
    ("visit", "channel", "condition", "blamed"),
    [
        ("STG-1/2026-05-19", "STG-1-V12", AS_FOUND, {MODULE}),
        ("STG-1/2026-05-19", "STG-1-V12", AS_LEFT, set()),
        ("STG-1/2026-05-19", "STG-1-V21", AS_FOUND, {FILTER}),
        ("BFP-2/2026-04-21", "BFP-2-A22", AS_FOUND, {SENSOR}),
        ("BFP-2/2025-05-13", "BFP-2-A11", AS_FOUND, {JOINT, MODULE}),  # no part failed by itself
    ],
)
def test_the_demos_faults_are_laid_to_the_part_they_were_put_into(visit, channel, condition, blamed):
    result = verdict_on(visit, channel, condition)
    steps = part_steps(result.attribution.main, result.tests)
    assert parts_to_blame(result.tests, steps, result.case.channel.tolerance_pct) == blamed
