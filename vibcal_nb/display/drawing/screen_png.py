"""PNG for the screen: written fast, because a person waits for it, and read by whatever reads PNG.

ISO/IEC 15948 (PNG): 8 bits a colour, no row filter. Libraries that write PNG choose a filter for every row, which
takes as long as the compression and saves little on plots, most of which is white.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_TRUECOLOUR = 2
_NO_FILTER = 0


def encode_png(pixels: NDArray[np.uint8]) -> bytes:
    """Return opaque ``pixels``, shape (height, width, 4), as PNG; the fourth, alpha, is left out."""
    height, width, _ = pixels.shape
    rows = np.full((height, 1 + 3 * width), _NO_FILTER, dtype=np.uint8)
    for colour in range(3):
        rows[:, 1 + colour :: 3] = pixels[..., colour]
    header = struct.pack(">IIBBBBB", width, height, 8, _TRUECOLOUR, 0, 0, 0)
    data = zlib.compress(rows.data, 1)  # speed before size: it goes to the screen
    return _SIGNATURE + _chunk(b"IHDR", header) + _chunk(b"IDAT", data) + _chunk(b"IEND", b"")


def _chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
