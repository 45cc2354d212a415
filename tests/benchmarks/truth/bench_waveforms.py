"""How often the uncertainty of a reading from sampled signals covers what it is off by, kind of impairment by kind.

Records are made here, sample by sample; a finding about the impairment, or a refusal, counts as told. Run by hand:

    python -m tests.benchmarks.truth.bench_waveforms [RECORDS] [SEED] [store]
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np

from tests.benchmarks.figures import store_figures
from vibcal_nb.analysis.readings.waveform_reading import read_waveform
from vibcal_nb.problems import Refused

TOLD = ("settled", "moves", "fold", "clock", "pick-up", "flattened")


class Record:
    """One record: reference of 1, output of 0.8 of it, tone, noise; an impairment changes it."""

    def __init__(self, rng: np.random.Generator, *, hz=80.0, fs=4000.0, seconds=3.0, noise=1e-3) -> None:
        self.rng, self.fs, self.seconds = rng, fs, seconds
        self.hz = hz * (1.0 + rng.uniform(-0.004, 0.004))
        self.t = np.arange(int(seconds * fs)) / fs
        self.phase = rng.uniform(0.0, 2.0 * np.pi, 2)
        self.x, self.y = (np.cos(2 * np.pi * self.hz * self.t + p) for p in self.phase)
        self.y = 0.8 * self.y
        self.noise, self.dc, self.stated = noise, False, True

    def finish(self):
        noise = self.noise * self.rng.standard_normal((2, self.t.size))
        return self.x + noise[0], self.y + noise[1][: self.y.size]


def _plain(**kw):
    return lambda r: r.__init__(r.rng, **kw)


def _settles(part, constant, **kw):
    def do(r):
        r.__init__(r.rng, **kw)
        r.y = r.y * (1.0 - part * np.exp(-r.t / constant))

    return do


def _mains(size, hz, tone, seconds=3.0):
    def do(r):
        r.__init__(r.rng, hz=tone, seconds=seconds)
        r.y = r.y + 0.8 * size * np.cos(2 * np.pi * hz * r.t + r.rng.uniform(0, 6.3))

    return do


def _steps(bits, share, noise=0.0):
    def do(r):
        r.__init__(r.rng, noise=0.0)
        q = 2.0 / 2**bits
        r.x, r.y = (q * np.round(share * (s + noise * r.rng.standard_normal(s.size)) / q) / share for s in (r.x, r.y))

    return do


def _clock(parts):
    def do(r):
        r.y = 0.8 * np.cos(2 * np.pi * r.hz * (1.0 + parts * 1e-6) * r.t + r.phase[1])

    return do


def _unsteady(size, period):
    def do(r):
        blocks = int(np.ceil(r.seconds / period))
        gain = 1.0 + size * np.repeat(r.rng.standard_normal(blocks), int(period * r.fs))[: r.t.size]
        r.y = r.y * gain

    return do


def _wander(size):
    def do(r):
        walk = np.cumsum(r.rng.standard_normal(r.t.size))
        r.y = r.y * (1.0 + size * (walk - walk.mean()) / walk.std())

    return do


def _harmonics(second, third):
    def do(r):
        w = 2 * np.pi * r.hz * r.t
        r.y = r.y + 0.8 * (second * np.cos(2 * w + 1.0) + third * np.cos(3 * w + 2.0))

    return do


def _folds(size):
    def do(r):
        r.__init__(r.rng, hz=333.4, fs=1000.0)
        r.hz = 333.4
        w = 2 * np.pi * r.hz * r.t
        r.x, r.y = np.cos(w), 0.8 * (np.cos(w) + size * np.cos(2 * w + r.rng.uniform(0, 6.3)))

    return do


def _zone(r):
    r.__init__(r.rng, hz=900.0, fs=1000.0)
    r.stated = False


def _shorter(r):
    r.y = r.y[:-500]


def _slow_dc(constant):
    def do(r):
        r.dc, r.y = True, 0.8 * (1.0 - np.exp(-(r.t + 0.2) / constant))

    return do


def _ramp(seconds):
    def do(r):
        envelope = np.minimum(r.t / seconds, 1.0)
        r.x, r.y = r.x * envelope, r.y * envelope

    return do


def _spikes(r):
    r.y[r.rng.integers(0, r.y.size, 6)] += 2.0


def _clipped(at):
    def do(r):
        r.y = np.clip(r.y, -0.8 * at, 0.8 * at)

    return do


KINDS: dict[str, Callable[[Record], None]] = {
    "white noise 0.1 %": _plain(), "white noise 1 %": _plain(noise=0.01), "white noise 5 %": _plain(noise=0.05),
    "tone of 20 Hz": _plain(hz=20.0), "tone of 400 Hz": _plain(hz=400.0), "one second": _plain(seconds=1.0),
    "settles: 30 %, 0.45 s": _settles(0.3, 0.45), "settles: 5 %, 1.5 s": _settles(0.05, 1.5),
    "settles: 5 %, 0.3 s": _settles(0.05, 0.3), "settles: -20 %, 0.4 s": _settles(-0.2, 0.4),
    "settles: 2 %, 0.8 s": _settles(0.02, 0.8), "settles: 10 %, 0.6 s, 5 s": _settles(0.1, 0.6, seconds=5.0),
    "settles: 1 %, 3 s": _settles(0.01, 3.0),
    "mains 50 Hz, 1 %, tone of 80": _mains(0.01, 50.0, 80.0),
    "mains 50 Hz, 1 %, tone of 50.5": _mains(0.01, 50.0, 50.5),
    "mains 50 Hz, 5 %, tone of 50.5": _mains(0.05, 50.0, 50.5),
    "mains 60 Hz, 2 %, tone of 61": _mains(0.02, 60.0, 61.0),
    "mains 50 Hz, 0.3 %, tone of 49.7": _mains(0.003, 50.0, 49.7), "mains 150 Hz, 2 %": _mains(0.02, 150.0, 80.0),
    "hum at 37 Hz, 2 %": _mains(0.02, 37.0, 80.0),
    "8 bits, 50 % of range": _steps(8, 0.5), "12 bits, 5 % of range": _steps(12, 0.05),
    "12 bits, 1 % of range": _steps(12, 0.01), "16 bits, 1 % of range": _steps(16, 0.01),
    "12 bits, 5 %, noise of a step": _steps(12, 0.05, 0.01),
    "clocks 20 ppm apart": _clock(20.0), "clocks 100 ppm apart": _clock(100.0), "clocks 500 ppm apart": _clock(500.0),
    "gain unsteady 0.5 %, 0.1 s": _unsteady(0.005, 0.1), "gain unsteady 0.5 %, 0.4 s": _unsteady(0.005, 0.4),
    "gain wanders 0.3 %": _wander(0.003), "second and third harmonic 5 %": _harmonics(0.05, 0.05),
    "a harmonic that folds, 5 %": _folds(0.05), "900 Hz sampled at 1 kHz": _zone, "output shorter": _shorter,
    "dc output, 0.3 s": _slow_dc(0.3), "dc output, 1 s": _slow_dc(1.0), "level ramps 1 s": _ramp(1.0),
    "six spikes": _spikes, "clipped at 90 %": _clipped(0.9),
}  # fmt: skip


def study(kind: str, rng: np.random.Generator) -> tuple[bool, bool]:
    """Whether the interval of 95 % holds the truth, and whether the impairment was told or the record refused."""
    record = Record(rng)
    KINDS[kind](record)
    reference, output = record.finish()
    start = record.hz if record.stated else None
    try:
        found = read_waveform(reference, output, sampling_hz=record.fs, start_hz=start, output_is_dc=record.dc)
    except Refused:
        return False, True
    truth = _truth(kind)
    miss = abs(found.read / found.applied / truth - 1.0) * 100.0
    told = any(word in finding for finding in found.findings for word in TOLD)
    return miss <= 1.96 * found.u_pct, told


def _truth(kind: str) -> float:
    """0.8 but for what a clipped output really puts out: its fundamental, by the mean of the clipped sine."""
    if kind.startswith("clipped"):
        angle = 2.0 * np.pi * (np.arange(200_000) + 0.5) / 200_000
        return float(0.8 * 2.0 * np.mean(np.clip(np.cos(angle), -0.9, 0.9) * np.cos(angle)))
    return 0.8


def main(records: int, seed: int, keep: bool) -> None:
    lines = ["| impairment | covered | covered or told |", "|---|---|---|"]
    for number, kind in enumerate(KINDS):
        rng = np.random.Generator(np.random.PCG64([seed, number]))
        outcomes = [study(kind, rng) for _ in range(records)]
        covered, either = (100.0 * np.mean(hits) for hits in zip(*((c, c or t) for c, t in outcomes), strict=True))
        lines.append(f"| {kind} | {covered:.0f} % | {either:.0f} % |")
        print(lines[-1], flush=True)
    if keep:
        text = f"{len(KINDS)} kinds, {records} records each, seed {seed}. Told: a finding names it, or a refusal."
        command = f"python -m tests.benchmarks.truth.bench_waveforms {records} {seed} store"
        store_figures("Waveforms", text + "\n\n" + "\n".join(lines), command=command)


if __name__ == "__main__":
    given = [*sys.argv[1:], *("100", "20261130")[len(sys.argv) - 1 :]]
    main(int(given[0]), int(given[1]), "store" in sys.argv)
