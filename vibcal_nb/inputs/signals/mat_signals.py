"""MAT files up to version 7: arrays, and fields of structures as ``structure/field``.

Elements of a version 5 file: a tag of type and size, 8 bytes each on 64-bit bounds but for compressed ones (MAT-File
Format, level 5, from memory).
"""

from __future__ import annotations

import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.inputs.signals.tracks import MOST_LOADED, MOST_TRACKS, SignalsRefused, Tracks, columns_of

_COMPRESSED = 15
_BLOCK = 1 << 20
_MOST_DEEP = 6
HDF5_MARK = b"\x89HDF\r\n\x1a\n"
_RATES = ("sampling_hz", "fs", "sample_rate", "samplerate", "sampling_rate", "abtastrate")


def is_hdf5(path: Path) -> bool:
    """Whether a file is HDF5 within, as MAT files of version 7.3 are: its mark stands at 0, 512, 1024, ..."""
    with path.open("rb") as file:
        for place in (0, 512, 1024, 2048):
            file.seek(place)
            if file.read(8) == HDF5_MARK:
                return True
    return False


def read_mat(path: Path) -> Tracks:
    """Read a MAT file. Raises ``SignalsRefused``, ``OSError``, and what the reader raises of a broken file."""
    from scipy.io import loadmat  # slow to import

    _measure(path)
    found = loadmat(str(path), squeeze_me=False, struct_as_record=True, mat_dtype=False)
    signals: dict[str, NDArray[Any]] = {}
    numbers: dict[str, float] = {}
    for name, value in found.items():
        if not name.startswith("__"):
            _collect(name, value, signals, numbers, 0)
    if len(signals) > MOST_TRACKS:
        raise SignalsRefused(f"more than {MOST_TRACKS} signals", "keep the signals of one record")
    return Tracks(signals=signals, sampling_hz=stated_rate(numbers))


def stated_rate(numbers: dict[str, float]) -> float | None:
    """Return the sampling frequency that a file states under a name of its own; None where none or several differ."""
    found = {value for name, value in numbers.items() if name.rpartition("/")[2].lower() in _RATES}
    return found.pop() if len(found) == 1 else None


def _collect(name: str, value: Any, signals: dict[str, NDArray[Any]], numbers: dict[str, float], depth: int) -> None:
    array = np.asarray(value)
    if array.dtype.names is not None and depth < _MOST_DEEP and array.size == 1:
        record = array.reshape(-1)[0]
        for field in array.dtype.names:
            _collect(f"{name}/{field}", record[field], signals, numbers, depth + 1)
    elif array.dtype.kind in "iuf" and array.size == 1:
        numbers[name] = float(array.reshape(-1)[0])
    elif array.dtype.kind in "iuf" and array.size:
        signals |= columns_of(name, array)


def _measure(path: Path) -> None:
    """Unpack every compressed element once, keeping nothing: a few kilobytes may hold more than fits."""
    size = path.stat().st_size
    if size > MOST_LOADED:
        raise SignalsRefused(f"more than {MOST_LOADED // 1_000_000} MB", _CUT)
    with path.open("rb") as file:
        head = file.read(128)
        if len(head) < 128 or head[126:128] not in (b"IM", b"MI"):
            return  # of version 4, which compresses nothing
        order = "<" if head[126:128] == b"IM" else ">"
        total = 0
        while len(tag := file.read(8)) == 8:
            kind, length = struct.unpack(f"{order}II", tag)
            if kind != _COMPRESSED:
                file.seek(length, 1)
                continue
            total += _unpacked(file, length, MOST_LOADED - total)


def _unpacked(file: Any, length: int, most: int) -> int:
    unpack, total = zlib.decompressobj(), 0
    while length > 0 and (data := file.read(min(length, _BLOCK))):
        length -= len(data)
        while data:
            total += len(unpack.decompress(data, _BLOCK))
            data = unpack.unconsumed_tail
            if total > most:
                raise SignalsRefused(f"more than {MOST_LOADED // 1_000_000} MB once unpacked", _CUT)
    return total


_CUT = "cut the record to the part that is settled"
