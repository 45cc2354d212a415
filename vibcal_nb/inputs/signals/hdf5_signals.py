"""HDF5 files, MAT files of version 7.3 among them: datasets by their path, such as ``group/channel 1``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.inputs.signals.mat_signals import stated_rate
from vibcal_nb.inputs.signals.tracks import MOST_LOADED, MOST_TRACKS, SignalsRefused, Tracks, columns_of

_OWN_FILTERS = {1, 2, 3, 4, 5, 6}  # deflate, shuffle, fletcher32, szip, nbit, scaleoffset: within the library
_MOST_OBJECTS = 10_000
_MOST_DEEP = 20


def read_hdf5(path: Path) -> Tracks:
    """Read an HDF5 file. Raises ``SignalsRefused``, ``OSError``, and what the library raises of a broken file."""
    try:
        import h5py  # wanted for these files alone
    except ImportError:
        found = "an HDF5 file, and no h5py to read it"
        raise SignalsRefused(found, "install vibcal_nb with its extra 'recorders', or save WAV, CSV or NPZ") from None
    walk = _Walk(h5py)
    with h5py.File(path, "r") as file:
        walk.group(file, "", 0)
    return Tracks(signals=walk.signals, sampling_hz=stated_rate(walk.numbers))


class _Walk:
    """Goes through the groups by plain links only: no other file is opened, no program is loaded."""

    def __init__(self, h5py: Any) -> None:
        self.h5py = h5py
        self.signals: dict[str, NDArray[Any]] = {}
        self.numbers: dict[str, float] = {}
        self.seen: set[Any] = set()
        self.objects = self.size = 0

    def group(self, group: Any, path: str, depth: int) -> None:
        if depth > _MOST_DEEP:
            raise SignalsRefused(f"groups nested more than {_MOST_DEEP} deep", "save the signals plainly")
        self._attributes(group, path)
        for name in group:
            self.objects += 1
            if self.objects > _MOST_OBJECTS:
                raise SignalsRefused(f"more than {_MOST_OBJECTS:,} objects", "save the signals of one record")
            if not isinstance(group.get(name, getlink=True), self.h5py.HardLink):
                continue  # it would lead out of the file, or to what is read already
            item = group[name]
            info = self.h5py.h5o.get_info(item.id)
            if (info.fileno, info.addr) in self.seen:
                continue
            self.seen.add((info.fileno, info.addr))
            inner = f"{path}/{name}" if path else name
            if isinstance(item, self.h5py.Group):
                self.group(item, inner, depth + 1)
            elif isinstance(item, self.h5py.Dataset):
                self.dataset(item, inner)

    def dataset(self, item: Any, name: str) -> None:
        self._attributes(item, name)
        if item.dtype.kind not in "iuf" or not item.size:
            return
        if item.is_virtual or item.external:
            raise SignalsRefused(f"the samples of {name} in another file", "save them in the file itself")
        plist = item.id.get_create_plist()
        if any(plist.get_filter(i)[0] not in _OWN_FILTERS for i in range(plist.get_nfilters())):
            raise SignalsRefused(f"samples of {name} packed by a program of their own", "save them unpacked")
        self.size += int(item.size) * max(item.dtype.itemsize, 1)
        if self.size > MOST_LOADED:
            found = f"more than {MOST_LOADED // 1_000_000} MB once unpacked"
            raise SignalsRefused(found, "cut the record to the part that is settled")
        values = np.asarray(item[()])
        if values.size == 1:
            self.numbers[name] = float(values.reshape(-1)[0])
            return
        self.signals |= columns_of(name, values)
        if len(self.signals) > MOST_TRACKS:
            raise SignalsRefused(f"more than {MOST_TRACKS} signals", "keep the signals of one record")

    def _attributes(self, item: Any, path: str) -> None:
        """Numbers among the attributes may state the sampling frequency."""
        for name in list(item.attrs)[:100]:
            try:
                value = np.asarray(item.attrs[name])
            except (OSError, TypeError, ValueError):  # of a kind that NumPy has no form for
                continue
            if value.size == 1 and value.dtype.kind in "iuf":
                self.numbers[f"{path}/{name}"] = float(value.reshape(-1)[0])
