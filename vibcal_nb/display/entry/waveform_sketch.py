"""A recording in small: some cycles of reference and output, each to its own height."""

from __future__ import annotations

from html import escape

import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT = 480.0, 150.0
CYCLES = 5.0
_MOST_POINTS = 400


def waveform_svg(
    reference: NDArray[np.generic],
    output: NDArray[np.generic],
    *,
    start: int,
    sampling_hz: float,
    frequency_hz: float,
    text: str,
) -> str:
    """Return the first cycles from sample ``start`` on as SVG; reference and output are shape (n,)."""
    count = int(CYCLES * sampling_hz / frequency_hz)
    parts = []
    for signal, kind, top, name in ((reference, "move", 8.0, "reference"), (output, "wire", 80.0, "output")):
        values = np.asarray(signal[start : start + max(count, 2)], dtype=np.float64)
        step = max(values.size // _MOST_POINTS, 1)
        shown = values[::step] - values.mean()
        size = float(np.abs(shown).max()) or 1.0
        x = 70.0 + (WIDTH - 80.0) * np.arange(shown.size) / max(shown.size - 1, 1)
        y = top + 28.0 - 26.0 * shown / size
        line = "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True))
        parts.append(f'<path class="{kind}" d="M{line}"/><text x="0" y="{top + 32:.0f}">{name}</text>')
    return f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{escape(text)}">{"".join(parts)}</svg>'
