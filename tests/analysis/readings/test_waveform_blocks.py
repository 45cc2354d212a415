"""Blocks of whole cycles: how many a record must hold, which of them are settled, and what their scatter says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vibcal_nb.analysis.readings.waveform_reading import read_waveform
from vibcal_nb.analysis.refusal import AnalysisRefused

FS, HZ, PER_BLOCK = 4000.0, 50.0, 400  # five cycles a block


def read(gains, *, levels=None, **how):
    """A reference of the levels and an output of the gains, one a block."""
    wave = np.cos(2.0 * np.pi * HZ * np.arange(PER_BLOCK * len(gains)) / FS + 0.3)
    reference = wave * np.repeat(np.ones(len(gains)) if levels is None else levels, PER_BLOCK)
    return read_waveform(reference, wave * np.repeat(gains, PER_BLOCK), sampling_hz=FS, start_hz=HZ, **how)


def test_twenty_cycles_are_enough_and_less_are_refused():
    assert len(read(np.ones(4)).block_s) == 4
    with pytest.raises(AnalysisRefused, match=r"The record holds 15 cycles where 20 are needed"):
        read(np.ones(3))


def test_blocks_lie_side_by_side():
    found = read(np.full(4, 0.8))
    assert list(found.block_s) == pytest.approx([0.05, 0.15, 0.25, 0.35])
    assert list(found.block_read / found.block_applied) == pytest.approx([0.8] * 4)
    assert (found.start, found.stop, found.settled_blocks) == (0, 1600, (0, 4))
    assert found.settled_s == (0.0, 0.4)
    assert found.findings == (
        "pick-up at 50 Hz, of whatever size, could not be told from the signal",
        "pick-up at 100, 150 Hz could not be told from the signal's harmonics",
    )


def test_the_scatter_of_few_blocks_is_that_of_their_mean():
    """JCGM 100:2008, 4.2.3: s / sqrt(n) of 0.99, 1.01, 1.01, 0.99 is 0.011547 / 2."""
    found = read([0.99, 1.01, 1.01, 0.99])
    assert found.u_pct == pytest.approx(100.0 * math.sqrt(4.0e-4 / 3.0) / 2.0, rel=1e-6)
    assert found.u_noise_pct < found.u_pct


@pytest.mark.parametrize(
    ("pattern", "count", "batch"),
    [
        ([0.99, 1.01], 16, 1),  # pairs cancel
        ([0.99, 0.99, 1.01, 1.01], 16, 2),  # eight pairs
        ([0.99, 0.99, 1.01, 1.01], 12, 1),  # six pairs would be too few
        ([0.99] * 4 + [1.01] * 4, 32, 4),
        ([0.99] * 4 + [1.01] * 4, 16, 2),  # four fours would be too few
    ],
)
def test_neighbours_unsteady_together_count_as_one_where_eight_or_more_remain(pattern, count, batch):
    """Means of n batches at 1 -+ 0.01, half on each side: s = 0.01 sqrt(n/(n - 1)), and u = s/sqrt(n)."""
    n = count // batch
    expected = 100.0 * 0.01 / math.sqrt(n - 1)
    assert read(np.resize(pattern, count)).u_pct == pytest.approx(expected, rel=1e-3)


def test_the_longest_settled_run_is_taken_and_of_equals_the_larger():
    steps = np.array([1.0] * 5 + [2.0] * 6 + [3.0] * 4)
    assert read(np.ones(15), levels=steps).settled_blocks == (5, 11)
    equal = np.array([1.0] * 5 + [2.0] * 5 + [1.5] * 5)
    found = read(np.ones(15), levels=equal)
    assert found.settled_blocks == (5, 10)
    assert found.findings[0] == "10 of 15 blocks were left out because the level was not settled"


def test_settled_is_within_the_tolerance_on_either_side():
    """Plus and minus 0.5 %: the greatest may be 1.01 times the least."""
    inside, outside = ([1.0, 1.0, 1.0, 1.0, 1.0 + step] for step in (0.0099, 0.0101))
    assert read(np.ones(5), levels=inside).settled_blocks == (0, 5)
    assert read(np.ones(5), levels=outside).settled_blocks == (0, 4)
    assert read(np.ones(5), levels=outside, tolerance_pct=1.0).settled_blocks == (0, 5)
    with pytest.raises(AnalysisRefused, match=r"never stays within ±0.5 % over 4 blocks"):
        read(np.ones(5), levels=[1.0, 1.0, 1.0, 1.1, 1.2])


def test_a_signal_of_nothing_but_zero_is_refused():
    with pytest.raises(AnalysisRefused, match="nothing but zero"):
        read(np.zeros(5))
    dead = [1.0] * 4 + [0.0] * 8  # the reference came off after four blocks
    with pytest.raises(AnalysisRefused, match="nothing but zero"):
        read(np.ones(12), levels=dead)


def test_pickup_is_said_in_percent_of_the_signal():
    """A tenth of an output of 0.5, at 50 Hz beside 80 Hz."""
    t = np.arange(8000) / FS
    reference, output = np.cos(2.0 * np.pi * 80.0 * t), 0.5 * np.cos(2.0 * np.pi * 80.0 * t)
    found = read_waveform(reference, output + 0.05 * np.cos(2.0 * np.pi * 50.0 * t), sampling_hz=FS, start_hz=80.0)
    assert "mains pick-up in the output at 50 Hz, 10 % of the signal" in found.findings


def test_a_long_record_is_cut_into_a_hundred_blocks():
    """1000 cycles: a hundred blocks of ten; 510 cycles: a hundred of five, the last ten cycles left over."""
    for cycles, per_block in ((1000, 10), (510, 5)):
        wave = np.cos(2.0 * np.pi * HZ * np.arange(int(cycles * FS / HZ)) / FS)
        found = read_waveform(wave, wave, sampling_hz=FS, start_hz=HZ)
        assert len(found.block_s) == 100
        assert found.block_s[1] - found.block_s[0] == pytest.approx(per_block / HZ)
