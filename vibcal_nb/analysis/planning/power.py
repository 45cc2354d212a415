"""Power of a plan: the chance that its readings show a fault, by simulation of the readings' own uncertainty.

A fault is found where the analysis of the readings says `fail` or `conditional fail`. The errors are drawn as the
budget states them: what a visit shares once a run, what a frequency shares once a frequency, the rest for each
reading; all of them normal, outputs rounded as a readout shows them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from vibcal_nb.analysis.planning.limits_broken import BoolArray, broken
from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.analysis.planning.planned_case import Instruments, planned_case
from vibcal_nb.analysis.planning.simulated_faults import NO_FAULT, ChannelFault, faulty_output
from vibcal_nb.analysis.readings.grouping import SAME_FREQUENCY_PCT, group_close
from vibcal_nb.analysis.readings.reading_uncertainty import ReadingUncertainty, assess_readings
from vibcal_nb.analysis.readings.scaled_readings import ScaledReadings, scale_readings
from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.arrays import FloatArray
from vibcal_nb.metrology.uncertainty.coverage import root_sum_squares
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SHAKER_TESTS

TRIALS = 4000
WANTED_POWER = 0.95
LARGEST_GAIN_ERROR_PCT = 50.0


@dataclass(frozen=True, kw_only=True)
class PowerFigure:
    """The chance that a plan finds a fault, from so many ``trials``; ``by_test`` what each test finds."""

    fault: ChannelFault
    probability: float
    by_test: Mapping[str, float]
    trials: int

    @property
    def standard_error(self) -> float:
        """Standard error of ``probability`` from the number of trials (binomial, at least that of one in them)."""
        p = min(max(self.probability, 1.0 / self.trials), 1.0 - 1.0 / self.trials)
        return math.sqrt(p * (1.0 - p) / self.trials)


@dataclass(frozen=True, kw_only=True, eq=False)
class SimulatedTest:
    """One test of a plan, ready to be simulated."""

    case: Case
    scaled: ScaledReadings
    uncertainty: ReadingUncertainty


def prepare_tests(plan: ChannelPlan, instruments: Instruments) -> tuple[SimulatedTest, ...]:
    """Return the tests of a plan with the uncertainty their readings would have."""
    prepared = []
    for test in SHAKER_TESTS:
        if plan.of_test(test):
            case = planned_case(plan, test=test, instruments=instruments)
            scaled = scale_readings(case)
            prepared.append(SimulatedTest(case=case, scaled=scaled, uncertainty=assess_readings(case, scaled)))
    return tuple(prepared)


def simulate_outputs(
    tests: Iterable[SimulatedTest], fault: ChannelFault, *, rng: np.random.Generator, trials: int
) -> list[FloatArray]:
    """Draw the outputs less zero, shape (trials, n), of each test of one visit, in the units of the part under test."""
    tests = tuple(tests)
    hertz = ((test, float(f)) for test in tests for f in test.scaled.frequency_hz)
    sources = dict.fromkeys(source for test, f in hertz for source in test.uncertainty.shared_pct(f))
    shared = {source: rng.standard_normal(trials) for source in sources}
    drawn = []
    for test in tests:
        errors = _relative_errors(test, shared, rng, trials)
        y = faulty_output(test.case.channel, test.scaled, fault, test=test.case.test) * (1.0 + errors)
        drawn.append(_as_read(y, test))
    return drawn


def _relative_errors(
    test: SimulatedTest, shared: Mapping[str, FloatArray], rng: np.random.Generator, trials: int
) -> FloatArray:
    frequency, uncertainty = test.scaled.frequency_hz, test.uncertainty
    errors = np.zeros((trials, len(frequency)))
    for group in group_close(frequency, within_pct=SAME_FREQUENCY_PCT):
        hz = float(frequency[group[0]])
        common = uncertainty.u_frequency_pct(hz) * rng.standard_normal(trials)
        for source, u in uncertainty.shared_pct(hz).items():
            common += u * shared[source]
        errors[:, group] = common[:, None]
    own = root_sum_squares(line.standard_uncertainty for line in uncertainty.independent)
    errors += own * rng.standard_normal(errors.shape)
    return np.asarray(errors / 100.0)


def _as_read(y: FloatArray, test: SimulatedTest) -> FloatArray:
    step, zero = test.scaled.resolution_y, test.case.output_zero
    return np.asarray(np.round((y + zero) / step) * step - zero)


@refusing
def find_power(
    plan: ChannelPlan,
    faults: Iterable[ChannelFault],
    *,
    instruments: Instruments,
    rng: np.random.Generator,
    trials: int = TRIALS,
) -> tuple[PowerFigure, ...]:
    """Return the chance that the plan finds each fault; ``NO_FAULT`` among them gives that of a false alarm.

    All faults are tried on the same errors. Raises ``AnalysisRefused`` where the visit's contributions cannot be used.
    """
    tests = prepare_tests(plan, instruments)
    seed = int(rng.integers(2**62))
    return tuple(_power(tests, fault, seed, trials) for fault in faults)


def _power(tests: tuple[SimulatedTest, ...], fault: ChannelFault, seed: int, trials: int) -> PowerFigure:
    found = _found(tests, fault, seed, trials)
    by_test = {test.case.test: float(runs.mean()) for test, runs in zip(tests, found, strict=True)}
    any_test = np.logical_or.reduce(found)
    return PowerFigure(fault=fault, probability=float(any_test.mean()), by_test=by_test, trials=trials)


def _found(tests: tuple[SimulatedTest, ...], fault: ChannelFault, seed: int, trials: int) -> list[BoolArray]:
    outputs = simulate_outputs(tests, fault, rng=np.random.default_rng(seed), trials=trials)
    return [broken(test.case, test.scaled, y, u_y=test.uncertainty.u_y) for test, y in zip(tests, outputs, strict=True)]


def smallest_gain_error_pct(
    plan: ChannelPlan, *, instruments: Instruments, rng: np.random.Generator, trials: int = TRIALS
) -> float | None:
    """Return by how many % the gain must be low to be found 19 times in 20, to 0.05 %; None where 50 % is not found."""
    tests = prepare_tests(plan, instruments)
    seed = int(rng.integers(2**62))

    def enough(error_pct: float) -> bool:
        fault = ChannelFault(name=NO_FAULT.name, gain=1.0 - error_pct / 100.0)
        return _power(tests, fault, seed, trials).probability >= WANTED_POWER

    low, high = 0.0, LARGEST_GAIN_ERROR_PCT
    if not enough(high):
        return None
    while high - low > 0.05:
        middle = (low + high) / 2.0
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
