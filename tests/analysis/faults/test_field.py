"""What is said of channels as the field has them; the simulator shares no formula with the model that explains."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks.truth.simulated_field import FAULTS, UNKNOWN, Visit, cases_of, draw_healthy, draw_plant
from vibcal_nb.analysis.faults.fault_families import HEALTHY, NONE_OF_THESE
from vibcal_nb.analysis.faults.faults import explain_channel
from vibcal_nb.display.faults.fault_sentences import top_sentence


def channel(kind, *, fault=None, unknown=None, full=True, seed=3, size=2, **changes):
    """Explanations of a channel of a kind; ``changes`` are of its truth, after the fault."""
    rng = np.random.Generator(np.random.PCG64([seed, 77]))
    plant = draw_plant(rng, kind, full=full)
    truth = draw_healthy(plant, rng)
    truth.shape = changes.pop("shape", truth.shape)
    if fault:
        FAULTS[fault](truth, plant, rng, size)
    if unknown:
        truth.names = (unknown,)
        UNKNOWN[unknown](truth, plant, rng)
    for name, value in changes.items():
        setattr(truth, name, value(truth, plant) if callable(value) else value)
    return explain_channel(cases_of(plant, Visit(plant, truth, rng).take_all()))


def named(found):
    return {found.top.name, *found.top.alike}


def test_a_dead_channel_is_dead_whatever_noise_it_shows():
    """0.3 mV of noise on 10.2 mV/(m/s2)."""
    found = channel("constant current", silent=True, noise=0.3 / 1020.0, unsteady=0.1)
    assert found.top.name == "dead or stuck output"


@pytest.mark.parametrize("rest", [0.0, 0.35])
def test_a_loop_that_rests_is_stuck(rest):
    found = channel("two-wire loop", silent=True, zero=rest, noise=1e-5)
    assert "dead or stuck output" in named(found)


def test_a_loop_whose_zero_stands_at_4_16_ma_has_a_zero_shift():
    found = channel("two-wire loop", zero=0.01)
    assert found.top.name == "zero shift"


def test_a_loop_has_no_open_leg():
    assert "open leg" not in {item.name for item in channel("two-wire loop").explanations}
    assert "zero shift" not in {item.name for item in channel("moving coil").explanations}


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("unsteady", [0.0, 0.05])
def test_steady_noise_is_noise(seed, unsteady):
    found = channel("constant current", seed=seed, noise=0.07, unsteady=unsteady)
    assert "noise floor" in named(found)


@pytest.mark.parametrize("kind", ["two-wire loop", "constant current"])
def test_a_hard_limit_of_what_is_shown_is_saturation(kind):
    found = channel(kind, limit=0.5, limited="shown")
    assert found.top.name == "saturation"


@pytest.mark.parametrize("factor", [0.2, 2.0, 10.0])
def test_a_sensor_of_another_type_is_told_from_what_is_broken(factor):
    found = channel("charge velocity", sensor=factor)
    assert "another sensor" in named(found)
    assert found.top.name != "cracked element"


@pytest.mark.parametrize("kind", ["charge velocity", "two-wire loop", "constant current"])
@pytest.mark.parametrize("shape", ["bessel", "cheby", "second"])
def test_filters_of_other_shapes_are_healthy_where_the_channel_states_its_corners(kind, shape):
    assert channel(kind, shape=shape).top.name == HEALTHY


@pytest.mark.parametrize("broad", [True, False])
def test_mains_pick_up_is_first_or_alike(broad):
    found = channel("charge velocity", pickup=0.08, broad=broad)
    assert any("mains pick-up" in name for name in named(found))


@pytest.mark.parametrize("fault", ["intermittent contact", "gain that moves", "notch", "range step"])
def test_what_no_family_knew_is_known(fault):
    found = channel("charge velocity", fault=fault, size=1)
    assert fault in named(found), top_sentence(found)


@pytest.mark.parametrize("unknown", ["ripple", "power of the level", "scatters everywhere"])
def test_what_nobody_knows_is_described(unknown):
    found = channel("charge velocity", unknown=unknown)
    assert found.top.name == NONE_OF_THESE
    said = top_sentence(found)
    assert said.startswith("None of the faults known here explains the readings; the nearest is ")
    assert "What they do: " in said and "most in row " in said


def test_a_moving_coil_whose_damping_left_it():
    """A damping of 0.3 in place of 0.65, 3 dB down at 10 Hz as before: 0.688 of a natural frequency of 14.5 Hz."""
    w = 2.0 * np.pi * 14.53
    rings = [([1.0, 0.0, 0.0], [1.0, 0.6 * w, w * w])]
    assert "changed damping" in named(channel("moving coil", low_hz=None, extra=rings))
