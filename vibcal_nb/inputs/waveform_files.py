"""Waveform files as arrays: WAV mapped from the disk where it can be, CSV, NPZ; nothing is ever unpickled."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.inputs.problems import InputRefused, Problem, one_of, shown
from vibcal_nb.inputs.table_files import find_separator
from vibcal_nb.inputs.waveforms import Waveform

MOST_BYTES = 2_000_000_000


@dataclass(frozen=True, kw_only=True, eq=False)
class SampledPair:
    """Reference and output as they stand in the file, shape (n,) each; times their scale they are in their units."""

    reference: NDArray[Any]
    output: NDArray[Any]
    reference_scale: float
    output_scale: float
    sampling_hz: float


def load_waveform(waveform: Waveform) -> SampledPair:
    """Load the two signals of a file. Raises ``InputRefused`` with a sentence naming file and remedy."""
    path = waveform.file
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _refused(path, "more than 2 GB", "cut the record to the part that is settled")
        reader = {".wav": _read_wav, ".csv": _read_csv, ".npz": _read_npz}[path.suffix.lower()]
        tracks, sampling, full_scale = reader(path)
    except InputRefused:
        raise
    except Exception as error:  # the readers raise whatever a broken file makes them raise
        kind = path.suffix[1:].upper()
        raise _refused(path, f"a file that is no readable {kind} ({type(error).__name__})", "record it again") from None
    sampling = waveform.sampling_hz or sampling
    if sampling is None:
        raise _refused(path, "no sampling frequency", "give sampling_hz in waveforms.toml")
    reference, output = (_track(path, tracks, name) for name in (waveform.reference.name, waveform.output.name))
    if reference.shape != output.shape:
        raise _refused(path, f"{reference.size} and {output.size} samples", "record both signals together")
    return SampledPair(
        reference=reference,
        output=output,
        reference_scale=waveform.reference.scale / full_scale,
        output_scale=waveform.output.scale / full_scale,
        sampling_hz=sampling,
    )


def _refused(path: Path, found: str, remedy: str) -> InputRefused:
    return InputRefused([Problem(file=f"waveforms/{path.name}", found=found, remedy=remedy)])


def _track(path: Path, tracks: dict[str, NDArray[Any]], name: str) -> NDArray[Any]:
    if name not in tracks:
        raise _refused(path, f"no track {shown(name)}", one_of(name, tracks))
    values = tracks[name]
    if values.ndim != 1 or values.dtype.kind not in "iuf":
        raise _refused(path, f"a track {shown(name)} that is no row of numbers", "give one number a sample")
    return values


_Tracks = tuple[dict[str, NDArray[Any]], float | None, float]


def _read_wav(path: Path) -> _Tracks:
    from scipy.io import wavfile  # slow to import

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", wavfile.WavFileWarning)  # of chunks that hold no samples
        try:
            rate, data = wavfile.read(path, mmap=True)
        except ValueError:  # 24-bit samples cannot be mapped
            rate, data = wavfile.read(path)
    scale = float(2 ** (8 * data.dtype.itemsize - 1)) if data.dtype.kind in "iu" else 1.0
    if data.dtype == np.uint8:  # the one unsigned kind: 128 is nothing
        data = data.astype(np.int16) - 128
    columns = data[:, np.newaxis] if data.ndim == 1 else data
    return {str(i + 1): columns[:, i] for i in range(columns.shape[1])}, float(rate), scale


def _read_csv(path: Path) -> _Tracks:
    import pandas as pd  # slow to import

    with path.open(encoding="utf-8-sig") as file:
        first, rows = file.readline(), file.read(4000)
    separator = find_separator(first)
    decimal = "," if separator != "," and "," in rows else "."
    table = pd.read_csv(path, sep=separator, decimal=decimal, encoding="utf-8-sig", dtype=np.float64)
    tracks = {str(name).strip(): table[name].to_numpy() for name in table.columns}
    time = tracks.get("time_s")
    sampling = None if time is None or time.size < 2 else (time.size - 1) / float(time[-1] - time[0])
    return tracks, sampling, 1.0


def _read_npz(path: Path) -> _Tracks:
    with np.load(path, allow_pickle=False) as file:
        tracks = {name: file[name] for name in file.files}
    sampling = tracks.pop("sampling_hz", None)
    return tracks, None if sampling is None else float(sampling), 1.0
