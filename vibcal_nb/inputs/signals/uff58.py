"""Universal File Format, dataset 58 (text) and 58b (binary): a function at a degree of freedom.

Records 1 to 11 and the formats of the data as the Structural Dynamics Research Laboratory of the University of
Cincinnati documents them (from memory); checked against an independent writer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from vibcal_nb.inputs.signals.tracks import MOST_LOADED, MOST_TRACKS, SignalsRefused, Tracks, rate_of

_MARK = b"    -1"
_HEAD_LINES = 11
_REAL = {2: 4, 4: 8}  # ordinate data type: bytes of a real number
_COMPLEX = (5, 6)
_TIME_RESPONSE = (0, 1)  # function types: general, time response


@dataclass(frozen=True)
class _Function:
    names: tuple[str, ...]
    values: NDArray[Any]
    sampling_hz: float


def read_uff(path: Path) -> Tracks:
    """Read the time signals of a file by their first identification line, by entity, node and direction, or by number.

    Raises ``SignalsRefused``, ``OSError``.
    """
    if path.stat().st_size > MOST_LOADED:
        raise SignalsRefused(f"more than {MOST_LOADED // 1_000_000} MB", "cut the record to the part that is settled")
    functions = list(_functions(path.read_bytes()))
    if not functions:
        raise SignalsRefused("no time signal in a dataset 58", "export time signals as dataset 58 or 58b")
    signals: dict[str, NDArray[Any]] = {str(i): f.values for i, f in enumerate(functions, start=1)}
    rates = {str(i): f.sampling_hz for i, f in enumerate(functions, start=1)}
    names = [name for function in functions for name in function.names]
    for function in functions:
        for name in function.names:
            if name and names.count(name) == 1 and name not in signals:
                signals[name], rates[name] = function.values, function.sampling_hz
    return Tracks(signals=signals, sampling_hz=functions[0].sampling_hz, sampling_by_track=rates)


def _functions(data: bytes) -> Iterator[_Function]:
    count = 0
    found = _after_mark(data, 0)
    while found is not None:
        place = found
        kind = data[place : place + 80].split(b"\n", 1)[0].rstrip(b"\r")
        end = _line_ends(data, place, 1)
        if kind.strip() == b"-1":  # the mark before it ended a dataset
            found = _after_mark(data, place)
            continue
        if kind[:6].strip() != b"58":
            found = _after_mark(data, _skip(data, end))
            continue
        count += 1
        if count > MOST_TRACKS:
            raise SignalsRefused(f"more than {MOST_TRACKS} functions", "export the signals of one record")
        function, place = _function(data, end, kind)
        if function is not None:
            yield function
        found = _after_mark(data, place)


def _after_mark(data: bytes, place: int) -> int | None:
    """Behind the next line that begins a dataset; None at the end."""
    while place < len(data):
        end = _line_ends(data, place, 1)
        if data[place:end].strip() == b"-1" and data[place : place + 6] == _MARK:
            return end if end < len(data) else None
        place = end
    return None


def _skip(data: bytes, place: int) -> int:
    """Behind the mark that ends a dataset of another kind."""
    end = data.find(b"\n" + _MARK, place - 1)
    return len(data) if end < 0 else _line_ends(data, end + 1, 1)


def _line_ends(data: bytes, place: int, lines: int) -> int:
    for _ in range(lines):
        found = data.find(b"\n", place)
        place = len(data) if found < 0 else found + 1
    return place


def _function(data: bytes, place: int, kind: bytes) -> tuple[_Function | None, int]:
    end = _line_ends(data, place, _HEAD_LINES)
    lines = data[place:end].decode("latin-1").splitlines()
    if len(lines) < _HEAD_LINES:
        raise SignalsRefused("a dataset 58 that is cut off", "export it again")
    sixth, seventh = lines[5], lines[6]
    number = int(seventh[10:20])
    ordinate, even = int(seventh[:10]), int(seventh[20:30]) == 1
    begin, step = float(seventh[30:43]), float(seventh[43:56])
    if number < 0 or number * 8 > MOST_LOADED:
        raise SignalsRefused(f"{number} samples in a dataset 58", "cut the record to the part that is settled")
    if kind[6:7] == b"b":
        values, end = _binary(data, end, kind, ordinate, number, even)
    else:
        stop = data.find(b"\n" + _MARK, end - 1)
        stop = len(data) if stop < 0 else stop + 1
        values, end = _text(data[end:stop], ordinate, number, even), _line_ends(data, stop, 1)
    if int(sixth[:5]) not in _TIME_RESPONSE or values is None:
        return None, end
    times, ordinates = values
    sampling = 1.0 / step if even and step > 0.0 else rate_of(times, "dataset 58") if times is not None else 0.0
    if not math.isfinite(begin) or not 0.0 < sampling < math.inf:
        raise SignalsRefused("a dataset 58 without an abscissa increment", "export time signals with their sampling")
    return _Function(names=_names(lines), values=ordinates, sampling_hz=sampling), end


def _names(lines: list[str]) -> tuple[str, ...]:
    """The first identification line; entity, node and direction of the response, as ``NAME:12:3``."""
    first = lines[0].strip()
    sixth = lines[5]
    entity, node, direction = sixth[31:41].strip(), sixth[41:51].strip(), sixth[51:55].strip()
    degree = ":".join(part for part in (entity if entity != "NONE" else "", node, direction) if part)
    return tuple(name for name in (first if first != "NONE" else "", degree) if name)


_Values = tuple[NDArray[Any] | None, NDArray[Any]]


def _binary(data: bytes, place: int, kind: bytes, ordinate: int, number: int, even: bool) -> tuple[_Values | None, int]:
    order, form, size = int(kind[7:13]), int(kind[13:19]), int(kind[31:43])
    if form != 2:
        raise SignalsRefused(f"numbers of the form {form} in a dataset 58b", "export IEEE 754 numbers, or text")
    end = place + size
    if size < 0 or end > len(data):
        raise SignalsRefused("a dataset 58b that is cut off", "export it again")
    if ordinate in _COMPLEX:
        return None, end
    mark = "<" if order == 1 else ">"
    width = _REAL.get(ordinate)
    if width is None:
        raise SignalsRefused(f"an ordinate of the type {ordinate} in a dataset 58b", "export real numbers")
    if even:
        plain = np.dtype(f"{mark}f{width}")
        return (None, _sized(np.frombuffer(data[place:end], dtype=plain), number)), end
    both = np.dtype([("x", f"{mark}f4"), ("y", f"{mark}f{width}")])
    table = np.frombuffer(data[place:end], dtype=both)
    return (table["x"].astype(np.float64), _sized(table["y"], number)), end


def _text(data: bytes, ordinate: int, number: int, even: bool) -> _Values | None:
    if ordinate in _COMPLEX:
        return None
    widths = {(2, True): (13,), (2, False): (13,), (4, True): (20,), (4, False): (13, 20)}.get((ordinate, even))
    if widths is None:
        raise SignalsRefused(f"an ordinate of the type {ordinate} in a dataset 58", "export real numbers")
    numbers = np.array([float(cell) for line in data.split(b"\n") for cell in _cells(line.rstrip(b"\r"), widths)])
    if even:
        return None, _sized(numbers, number)
    return numbers[0::2], _sized(numbers[1::2], number)


def _cells(line: bytes, widths: tuple[int, ...]) -> Iterator[bytes]:
    """Numbers of fixed widths, which may stand without a blank between them."""
    place = turn = 0
    while line[place:].strip():
        width = widths[turn % len(widths)]
        yield line[place : place + width].strip().replace(b"D", b"E")
        place, turn = place + width, turn + 1


def _sized(values: NDArray[Any], number: int) -> NDArray[Any]:
    if values.size != number:
        raise SignalsRefused(f"{values.size} samples where {number} are stated", "export it again")
    return values
