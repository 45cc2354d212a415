"""The signals of a file by name, their sampling frequency, and what is refused."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

MOST_LOADED = 500_000_000  # bytes of a file that is loaded as a whole, once unpacked
MOST_TRACKS = 1000
UNEVEN = 0.4  # of a step: a lost sample moves some time by half a step at least


@dataclass(frozen=True, kw_only=True, eq=False)
class Tracks:
    """Signals by name, shape (n,) each; ``sampling_hz`` is None where the file states none.

    ``full_scale`` is what 1 is in the file: of whole numbers their full scale, else 1. ``sampling_by_track`` holds
    those of single tracks where they may differ.
    """

    signals: Mapping[str, NDArray[Any]]
    sampling_hz: float | None = None
    full_scale: float = 1.0
    sampling_by_track: Mapping[str, float] | None = None


class SignalsRefused(ValueError):
    """A file that holds no usable signals; ``found`` is a phrase, ``remedy`` what to do."""

    def __init__(self, found: str, remedy: str) -> None:
        super().__init__(found)
        self.found, self.remedy = found, remedy


def rate_of(time: NDArray[Any], name: str, *, first_row: int = 1, unit_s: float = 1.0) -> float:
    """Return the sampling frequency of evenly spaced times. Raises ``SignalsRefused`` where they are not."""
    times = np.asarray(time, dtype=np.float64) * unit_s
    if times.size < 2 or not np.isfinite(times).all() or not times[-1] > times[0]:
        raise SignalsRefused(f"times in {name} that do not rise", "give the time of every sample in s")
    step = float(times[-1] - times[0]) / (times.size - 1)
    off = np.abs(times - (times[0] + step * np.arange(times.size)))
    if float(off.max()) > UNEVEN * step:
        found = f"times in {name} that are not evenly spaced near row {first_row + int(off.argmax())}"
        raise SignalsRefused(found, "record without gaps, and give times to enough digits")
    return 1.0 / step


def columns_of(name: str, values: NDArray[Any]) -> dict[str, NDArray[Any]]:
    """Return the tracks of an array: itself where it is one row of numbers, else its columns as ``name[1]`` and on."""
    if values.dtype.kind not in "iuf":
        return {}
    flat = np.squeeze(values)
    if flat.ndim == 1:
        return {name: flat}
    if flat.ndim != 2 or min(flat.shape) > MOST_TRACKS:
        return {}
    columns = flat.T if flat.shape[0] > flat.shape[1] else flat
    return {f"{name}[{i}]": column for i, column in enumerate(columns, start=1)}
