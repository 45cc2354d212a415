"""Sampled signals of one visit: a few readings taken again with both signals recorded."""

from __future__ import annotations

import io
import math
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.demo_site.physics import module_response, sensor_response
from tests.demo_site.simulate import generator, true_chain
from tests.demo_site.site import STG, VisitPlan
from tests.demo_site.truth import fault_of

DAY = "2026-05-19"
FULL_SCALE_M_S2, FULL_SCALE_MV = 20.0, 200.0


@dataclass(frozen=True, kw_only=True)
class Take:
    """One recording: ``level`` in mm/s pk, ``mains`` and ``limit`` in mV pk at the output."""

    file: str
    channel: str
    hz: float
    level: float
    seconds: float
    sampling_hz: int = 4000
    mains: float = 0.0
    limit: float = math.inf


TAKES = (
    Take(file="V11-50Hz.wav", channel="V11", hz=49.98, level=18.0, seconds=4.0),
    Take(file="V22-149Hz.wav", channel="V22", hz=149.03, level=8.9, seconds=3.0, mains=0.35),
    Take(file="V31-149Hz.csv", channel="V31", hz=148.97, level=6.1, seconds=1.0, sampling_hz=2000),
)


def sample(take: Take, visit: VisitPlan) -> tuple[np.ndarray, np.ndarray]:
    """Reference in m/s2 and output in mV: the shaker runs up, overshoots a little and settles."""
    rng = generator("waveform", take.file, visit.day)
    chain = true_chain(STG, visit, take.channel, fault_of(visit.day, f"STG-1-{take.channel}", "as-found"), "as-found")
    t = np.arange(round(take.seconds * take.sampling_hz)) / take.sampling_hz
    pace = take.seconds / 12.0
    envelope = 1.0 - np.exp(-t / pace) * np.cos(2.0 * t / pace)
    velocity = take.level * envelope * np.cos(2.0 * np.pi * take.hz * t)
    gain = sensor_response(chain, take.hz) * module_response(chain, take.hz)
    reference = velocity * 2.0 * np.pi * take.hz / 1000.0 + 0.004 * rng.standard_normal(t.size)
    output = STG.nominal * gain * take.level * envelope * np.cos(2.0 * np.pi * take.hz * t - 0.4)
    output = np.clip(output, -take.limit, take.limit) + take.mains * np.cos(2.0 * np.pi * 50.0 * t + 1.0)
    return reference, output + 0.05 * rng.standard_normal(t.size)


def write_waveforms(folder: Path, visit: VisitPlan) -> None:
    """Write the recordings and what they hold."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "waveforms.toml").write_bytes("\n".join(_entry(take) for take in TAKES).encode("utf-8"))
    for take in TAKES:
        reference, output = sample(take, visit)
        if take.file.endswith(".wav"):
            data = _wav(reference / FULL_SCALE_M_S2, output / FULL_SCALE_MV, take.sampling_hz)
        else:
            data = _csv(reference, output, take.sampling_hz)
        (folder / take.file).write_bytes(data)


def _entry(take: Take) -> str:
    wav = take.file.endswith(".wav")
    tracks, scales = ("1", "2") if wav else ("reference", "output"), (FULL_SCALE_M_S2, FULL_SCALE_MV) if wav else (1, 1)
    return (
        f'[[waveform]]\nfile = "{take.file}"\nchannel = "STG-1-{take.channel}"\ntest = "linearity"\n'
        f'condition = "as-found"\n'
        f'reference = {{ track = "{tracks[0]}", scale = {scales[0]:g}, unit = "m/s2 pk" }}\n'
        f'output = {{ track = "{tracks[1]}", scale = {scales[1]:g}, unit = "mV pk" }}\n'
    )


def _wav(first: np.ndarray, second: np.ndarray, sampling_hz: int) -> bytes:
    codes = np.round(np.column_stack([first, second]) * 32768.0).astype("<i2")
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(sampling_hz)
        file.writeframes(codes.tobytes())
    return buffer.getvalue()


def _csv(reference: np.ndarray, output: np.ndarray, sampling_hz: int) -> bytes:
    rows = (f"{i / sampling_hz:.4f},{a:.4f},{b:.3f}" for i, (a, b) in enumerate(zip(reference, output, strict=True)))
    return ("\n".join(["time_s,reference,output", *rows]) + "\n").encode("utf-8")
