"""Waveform files as arrays: WAV mapped from the disk where it can be, NPZ, and what recorders export.

Nothing is ever unpickled, and no program in a file is run.
"""

from __future__ import annotations

import math
import warnings
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.inputs.files.numbers_as_typed import LARGEST
from vibcal_nb.inputs.files.wav_header import HeaderRefused, check_wav_header
from vibcal_nb.inputs.read_waveform_list import TEXTS, Waveform
from vibcal_nb.inputs.signals.hdf5_signals import read_hdf5
from vibcal_nb.inputs.signals.mat_signals import is_hdf5, read_mat
from vibcal_nb.inputs.signals.text_signals import read_text_signals
from vibcal_nb.inputs.signals.tracks import MOST_LOADED, SignalsRefused, Tracks
from vibcal_nb.inputs.signals.uff58 import read_uff
from vibcal_nb.problems import InputRefused, Problem, one_of, shown

MOST_BYTES = 2_000_000_000  # of a file that is mapped
_MOST_HZ = 1e9
_MOST_MEMBERS = 1000
_BLOCK = 1_000_000


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
    tracks = _read(path)
    sampling = waveform.sampling_hz or _sampling(path, waveform, tracks)
    if sampling is None:
        raise _refused(path, "no sampling frequency", "give sampling_hz in waveforms.toml")
    if not 0.0 < sampling <= _MOST_HZ:  # NaN compares False
        raise _refused(path, f"a sampling frequency of {sampling:g} Hz", "give sampling_hz in waveforms.toml")
    reference, output = (_track(path, tracks, name) for name in (waveform.reference.name, waveform.output.name))
    if reference.shape != output.shape:
        raise _refused(path, f"{reference.size} and {output.size} samples", "record both signals together")
    return SampledPair(
        reference=reference,
        output=output,
        reference_scale=waveform.reference.scale / tracks.full_scale,
        output_scale=waveform.output.scale / tracks.full_scale,
        sampling_hz=sampling,
    )


def _read(path: Path) -> Tracks:
    kind = path.suffix.lower()
    try:
        most = MOST_BYTES if kind == ".wav" else MOST_LOADED
        if path.stat().st_size > most:
            raise _refused(path, f"more than {most // 1_000_000:,} MB", _CUT)
        if kind == ".mat" and is_hdf5(path):
            return read_hdf5(path)
        return _READERS[kind](path)
    except InputRefused:
        raise
    except SignalsRefused as refused:
        raise _refused(path, refused.found, refused.remedy) from None
    except HeaderRefused as refused:
        found = f"a file that is no readable WAV: {refused}"
        raise _refused(path, found, "record it again, or save it as plain samples") from None
    except Exception as error:  # the readers raise whatever a broken file makes them raise
        found = f"a file that is no readable {kind[1:].upper()} ({type(error).__name__})"
        again = "export it again" if kind in TEXTS else "save or record it again"
        raise _refused(path, found, again) from None


def _sampling(path: Path, waveform: Waveform, tracks: Tracks) -> float | None:
    """The sampling frequency that the file states; that of both tracks, where each has its own."""
    if tracks.sampling_by_track is None:
        return tracks.sampling_hz
    names = waveform.reference.name, waveform.output.name
    rates = [tracks.sampling_by_track[name] for name in names if name in tracks.sampling_by_track]
    if len(rates) == 2 and not math.isclose(*rates, rel_tol=1e-6):
        raise _refused(path, f"tracks sampled at {rates[0]:g} and {rates[1]:g} Hz", "record both signals together")
    return rates[0] if rates else tracks.sampling_hz


_CUT = "cut the record to the part that is settled"


def _refused(path: Path, found: str, remedy: str) -> InputRefused:
    return InputRefused([Problem(file=f"waveforms/{path.name}", found=found, remedy=remedy)])


def _track(path: Path, tracks: Tracks, name: str) -> NDArray[Any]:
    if name not in tracks.signals:
        raise _refused(path, f"no track {shown(name)}", one_of(name, tracks.signals))
    values = tracks.signals[name]
    if values.ndim != 1 or values.dtype.kind not in "iuf":
        raise _refused(path, f"a track {shown(name)} that is no row of numbers", "give one number a sample")
    bad = _first_unusable(values)
    if bad is not None:
        found = f"{shown(values[bad])} as sample {bad + 1} of the track {shown(name)}"
        raise _refused(path, found, "give a number for every sample")
    return values


def _first_unusable(values: NDArray[Any]) -> int | None:
    """The place of the first sample that is no finite number of a size that computes; block by block, as on disk."""
    if values.dtype.kind != "f":
        return None
    for start in range(0, values.size, _BLOCK):
        block = values[start : start + _BLOCK]
        with np.errstate(invalid="ignore"):  # of a NaN that signals
            wrong = np.flatnonzero(~(np.abs(block.astype(np.float64)) <= LARGEST))  # NaN compares False
        if wrong.size:
            return start + int(wrong[0])
    return None


def _read_wav(path: Path) -> Tracks:
    from scipy.io import wavfile  # slow to import

    check_wav_header(path)
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
    signals = {str(i + 1): columns[:, i] for i in range(columns.shape[1])}
    return Tracks(signals=signals, sampling_hz=float(rate), full_scale=scale)


def _read_npz(path: Path) -> Tracks:
    _check_members(path)
    with np.load(path, allow_pickle=False) as file:
        tracks = {name: file[name] for name in file.files}
    sampling = tracks.pop("sampling_hz", None)
    return Tracks(signals=tracks, sampling_hz=None if sampling is None else float(sampling))


def _check_members(path: Path) -> None:
    """Refuse what would unpack to more than fits, and arrays whose shape is not that of their data."""
    with zipfile.ZipFile(path) as archive:
        members = archive.infolist()
        total = sum(item.file_size for item in members)
        if total > MOST_LOADED or len(members) > _MOST_MEMBERS:
            raise _refused(path, f"{len(members)} arrays of {total / 1e6:,.0f} MB once unpacked", _CUT)
        for item in members:
            with archive.open(item) as member:
                wrong = _misfit(member, item.file_size)
            if wrong is not None:
                raise _refused(path, f"in {shown(item.filename)} {wrong}", "save plain arrays of numbers")


def _misfit(member: IO[bytes], size: int) -> str | None:
    """Say why a member is no array of plain numbers that takes exactly the bytes that are there; None where it is."""
    read_header = {(1, 0): np.lib.format.read_array_header_1_0, (2, 0): np.lib.format.read_array_header_2_0}
    version = np.lib.format.read_magic(member)
    if version not in read_header:
        return f"an array of the format {version}"
    shape, _, dtype = read_header[version](member)
    if dtype.hasobject:
        return "objects, which are never loaded"
    if any(length < 0 for length in shape) or member.tell() + math.prod(shape) * dtype.itemsize != size:
        return f"an array that states the shape {shown(shape)} and has other data"
    return None


_READERS = {
    ".wav": _read_wav,
    ".npz": _read_npz,
    **dict.fromkeys(TEXTS, read_text_signals),
    **dict.fromkeys((".uff", ".unv", ".uf"), read_uff),
    ".mat": read_mat,
    **dict.fromkeys((".h5", ".hdf5", ".hdf"), read_hdf5),
}
