"""What sampled signals hide is found, kept out of the number, or said: each against the signal that was made."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vibcal_nb.analysis.readings.waveform_checks import converter_step, folded_harmonics, settled_ratio
from vibcal_nb.analysis.readings.waveform_reading import read_waveform
from vibcal_nb.analysis.refusal import AnalysisRefused

FS, HZ = 4000.0, 80.0


def waves(seconds=3.0, *, hz=HZ, fs=FS, seed=1, noise=1e-4):
    """Reference of 1 and output of 0.8, with noise."""
    t = np.arange(int(seconds * fs)) / fs
    rng = np.random.default_rng(seed)
    reference, output = np.cos(2 * np.pi * hz * t), 0.8 * np.cos(2 * np.pi * hz * t + 0.4)
    return t, reference + noise * rng.standard_normal(t.size), output + noise * rng.standard_normal(t.size)


def error(found):
    """Of output over level, in standard uncertainties."""
    return abs(found.read / found.applied / 0.8 - 1.0) / (found.u_pct / 100.0)


def said(found, what):
    return any(what in finding for finding in found.findings)


@pytest.mark.parametrize(("part", "constant"), [(0.3, 0.45), (0.05, 0.3), (-0.2, 0.4)])
def test_an_output_that_settles_later_than_the_level_is_read_where_it_rests(part, constant):
    t, reference, output = waves()
    found = read_waveform(reference, output * (1.0 - part * np.exp(-t / constant)), sampling_hz=FS, start_hz=HZ)
    assert said(found, "the output had not settled on the level")
    assert error(found) < 2.5 and found.u_pct < 0.5


def test_an_output_that_never_rests_is_said_and_its_movement_is_in_the_uncertainty():
    t, reference, output = waves()
    found = read_waveform(reference, output * (1.0 - 0.05 * np.exp(-t / 1.5)), sampling_hz=FS, start_hz=HZ)
    assert said(found, "output over level still moves by +0.6 % over the part used")
    assert error(found) < 2.5


def test_a_steady_record_loses_nothing():
    _, reference, output = waves()
    found = read_waveform(reference, output, sampling_hz=FS, start_hz=HZ)
    assert found.settled_blocks == (0, len(found.block_s))
    assert found.u_pct < 0.002


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10_000))
def test_a_ratio_that_only_scatters_is_kept_but_for_a_few_blocks(seed):
    """Nine of ten blocks at least, whatever the noise."""
    ratios = 0.8 * (1.0 + 1e-3 * np.random.default_rng(seed).standard_normal(60))
    found = settled_ratio(ratios, 0, 60)
    assert found.moves == 0.0 and found.last == 60
    assert found.first <= 6


@pytest.mark.parametrize("bits", [8, 10, 12])
def test_a_small_signal_in_steps_is_known_no_better_than_the_steps_let(bits):
    """5 % of the range, no noise to smear the steps, fifty samples a cycle and for ever the same: thirty phases."""
    misses = []
    for phase in np.linspace(0.0, 2.0 * np.pi, 30):
        t = np.arange(8000) / FS
        q = 2.0 / 2**bits
        reference, output = 0.05 * np.cos(2 * np.pi * HZ * t + phase), 0.04 * np.cos(2 * np.pi * HZ * t + 0.4 + phase)
        step = lambda y, q=q: q * np.round(y / q)  # noqa: E731
        found = read_waveform(step(reference), step(output), sampling_hz=FS, start_hz=HZ)
        misses.append(error(found))
        assert not said(found, "flattened")
    assert np.mean(np.array(misses) < 2.0) >= 0.9


def test_the_step_of_a_converter_is_found_and_none_where_there_is_none():
    _, reference, _ = waves()
    assert converter_step(0.001 * np.round(reference / 0.001)) == pytest.approx(0.001)
    assert converter_step(reference) == 0.0


def test_harmonics_that_fold_onto_the_tone_are_named():
    """Of 1000 Hz: the second of 333.4 Hz lies at 333.2, the third of 250 Hz at 250, the fourth of 250 Hz at 0."""
    assert folded_harmonics(1000.0 / 3.0, sampling_hz=1000.0, length_s=2.0, is_dc=False)[0] == pytest.approx(2000 / 3)
    assert folded_harmonics(250.0, sampling_hz=1000.0, length_s=2.0, is_dc=False)[:1] == (750.0,)
    assert 1000.0 in folded_harmonics(250.0, sampling_hz=1000.0, length_s=2.0, is_dc=True)
    assert folded_harmonics(80.0, sampling_hz=4000.0, length_s=2.0, is_dc=False) == ()
    t = np.arange(3000) / 1000.0
    wave = np.cos(2 * np.pi * 333.4 * t) + 0.05 * np.cos(2 * np.pi * 666.8 * t)
    assert said(read_waveform(wave, wave, sampling_hz=1000.0, start_hz=333.4), "would fold onto the signal")


def test_a_tone_that_was_not_stated_may_be_a_folded_one():
    """900 Hz sampled at 1 kHz is 100 Hz to anybody who is not told."""
    t = np.arange(4000) / 1000.0
    wave = np.cos(2 * np.pi * 900.0 * t)
    assert said(read_waveform(wave, wave, sampling_hz=1000.0), "100 Hz may be 900 Hz folded")
    with pytest.raises(AnalysisRefused, match="not between 0 and half the sampling frequency"):
        read_waveform(wave, wave, sampling_hz=1000.0, start_hz=900.0)


def test_two_clocks_are_said_and_do_not_shorten_the_output():
    t, reference, _ = waves()
    output = 0.8 * np.cos(2 * np.pi * HZ * (1.0 + 400e-6) * t + 0.4)
    found = read_waveform(reference, output, sampling_hz=FS, start_hz=HZ)
    assert said(found, "clock differs from the reference's by +400 parts in a million")
    assert found.read / found.applied == pytest.approx(0.8, rel=1e-4)


def test_two_signals_of_two_lengths_are_refused_in_a_sentence():
    _, reference, output = waves()
    with pytest.raises(AnalysisRefused, match=r"The reference holds 12000 samples and the output 11000; give two"):
        read_waveform(reference, output[:-1000], sampling_hz=FS, start_hz=HZ)


@pytest.mark.parametrize("size", [0.003, 0.02])
def test_mains_near_the_tone_is_said_with_a_size_that_holds(size):
    t, reference, output = waves(hz=50.4)
    found = read_waveform(reference, output + size * 0.8 * np.cos(2 * np.pi * 50.0 * t), sampling_hz=FS, start_hz=50.4)
    (finding,) = [text for text in found.findings if "beats with the signal" in text]
    bound = float(finding.split("about ")[1].split(" %")[0]) / 100.0
    assert 0.7 * size < bound < 2.0 * size
    assert error(found) < 2.5
    clean = read_waveform(reference, output, sampling_hz=FS, start_hz=50.4)
    (finding,) = [text for text in clean.findings if "beats with the signal" in text]
    assert float(finding.split("about ")[1].split(" %")[0]) < 0.05
