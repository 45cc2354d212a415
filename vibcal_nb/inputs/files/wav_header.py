"""What a WAV file's header states, held against the file itself before anything is read or mapped by it."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from vibcal_nb.problems import Refused, shown

PCM, IEEE_FLOAT, EXTENSIBLE = 1, 3, 0xFFFE
_MOST_CHUNKS = 1000
_BYTE_ORDER = {b"RIFF": "<", b"RF64": "<", b"RIFX": ">"}


class HeaderRefused(Refused, ValueError):
    """A header that does not describe its file; the text is what was found, as a phrase."""


def check_wav_header(path: Path) -> None:
    """Refuse a WAV file whose header does not fit the file, or that holds no plain samples.

    Form and fields: Multimedia Programming Interface and Data Specifications 1.0 (IBM, Microsoft, 1991), chapter 3;
    RF64: EBU Tech 3306 (both from memory). Raises ``HeaderRefused``, ``OSError``.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = _read(file, 12)
        if head[:4] not in _BYTE_ORDER or head[8:] != b"WAVE":
            raise HeaderRefused("no WAV header")
        order = _BYTE_ORDER[head[:4]]
        frames: list[int] = []  # bytes of a frame, by format chunk
        data = 0
        large = head[:4] == b"RF64"  # which states the size of the whole elsewhere
        end = size if large else 8 + struct.unpack(f"{order}4xI4x", head)[0]
        for name, length in _chunks(file, size, order, large=large):
            if name == b"fmt ":
                frames.append(_check_format(file, length, order))
            elif name == b"data":
                data += 1
                _check_samples(length, size - file.tell(), frames)
                if file.tell() + length > end:  # other readers stop there, and find other samples
                    raise HeaderRefused(f"a header that ends the file at byte {end:,}, within the samples")
    if len(frames) != 1 or data != 1:
        raise HeaderRefused(f"{len(frames)} format and {data} sample chunks where one of each belongs")


def _chunks(file: BinaryIO, size: int, order: str, *, large: bool) -> Iterator[tuple[bytes, int]]:
    """Yield name and length of each chunk, the file standing at its content; ``large`` data states it in ds64."""
    of_data = None
    for _ in range(_MOST_CHUNKS):
        head = file.read(8)
        if len(head) < 8:  # a stray byte at the end belongs to no chunk
            return
        name, length = struct.unpack(f"{order}4sI", head)
        start = file.tell()
        if name == b"ds64" and large:
            of_data = struct.unpack("<8xQ", _read(file, 16))[0]
            file.seek(start)
        if name == b"data" and of_data is not None:
            length = of_data
        yield name, length
        if start + length > size:
            return
        file.seek(start + length + length % 2)
    raise HeaderRefused(f"more than {_MOST_CHUNKS} chunks")


def _read(file: BinaryIO, count: int) -> bytes:
    data = file.read(count)
    if len(data) < count:
        raise HeaderRefused("a header that is cut off")
    return data


def _check_format(file: BinaryIO, length: int, order: str) -> int:
    """Check the format chunk; return the bytes of a frame, which is one sample of every channel."""
    if length < 16:
        raise HeaderRefused("a header that is cut off")
    code, channels, rate, _, frame, bits = struct.unpack(f"{order}HHIIHH", _read(file, 16))
    if code == EXTENSIBLE and length >= 40:
        code = struct.unpack(f"{order}8xI", _read(file, 12))[0]
    if code not in (PCM, IEEE_FLOAT):
        raise HeaderRefused(f"samples of the format {shown(code)}, which are no plain numbers")
    if not channels or not rate:
        raise HeaderRefused(f"{channels} channels at {rate} samples a second")
    width, rest = divmod(frame, channels)
    widths = (4, 8) if code == IEEE_FLOAT else (1,) if 1 <= bits <= 8 else (2, 3, 4, 8)
    if rest or width not in widths or not 1 <= bits <= 8 * width or (code == IEEE_FLOAT and bits != 8 * width):
        raise HeaderRefused(f"{bits} bits a sample in frames of {frame} bytes for {channels} channels")
    return int(frame)


def _check_samples(stated: int, there: int, frames: list[int]) -> None:
    if not frames:
        raise HeaderRefused("samples before their format")
    if stated > there:
        raise HeaderRefused(f"a header that states {stated:,} bytes of samples where {there:,} are")
    if not stated or stated % frames[0]:
        raise HeaderRefused(f"{stated:,} bytes of samples in frames of {frames[0]}")
