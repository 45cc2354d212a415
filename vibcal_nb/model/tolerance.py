"""A tolerance as the trade writes it: a part of the reading, of the span, an amount, or several of them at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import overload

import numpy as np

from vibcal_nb.arrays import FloatArray

TOLERANCE_RULES = ("sum", "larger")


@dataclass(frozen=True, kw_only=True)
class Tolerance:
    """How far what a channel indicates may lie from the true level, to either side.

    ``reading_pct`` is in % of the level, ``span_pct`` in % of full scale, ``absolute`` in the channel's input unit;
    what is not stated is None. Of several ``rule`` says whether their ``sum`` or the ``larger`` counts.
    """

    reading_pct: float | None = None
    span_pct: float | None = None
    absolute: float | None = None
    rule: str = "sum"

    @property
    def parts(self) -> tuple[float, ...]:
        """The parts that are stated, each in its own unit."""
        return tuple(part for part in (self.reading_pct, self.span_pct, self.absolute) if part is not None)

    @property
    def is_of_reading(self) -> bool:
        """Whether it is a part of the reading alone, so that it allows the same percentage at every level."""
        return self.span_pct is None and self.absolute is None

    @overload
    def allowed(self, level: float, *, full_scale: float | None) -> float: ...
    @overload
    def allowed(self, level: FloatArray, *, full_scale: float | None) -> FloatArray: ...
    def allowed(self, level: float | FloatArray, *, full_scale: float | None) -> float | FloatArray:
        """Return what is allowed at a level (a number or an array), in the input unit, to either side.

        Raises ``ValueError`` where a part is of the span and ``full_scale`` is None.
        """
        if self.span_pct is not None and full_scale is None:
            raise ValueError("a tolerance in % of span needs the channel's full_scale")
        x = np.asarray(level, dtype=np.float64)
        parts = [
            (self.reading_pct or 0.0) / 100.0 * np.abs(x),
            np.full_like(x, (self.span_pct or 0.0) / 100.0 * (full_scale or 0.0)),
            np.full_like(x, self.absolute or 0.0),
        ]
        total = np.sum(parts, axis=0) if self.rule == "sum" else np.max(parts, axis=0)
        return float(total) if total.ndim == 0 else total

    def allowed_pct(self, level: float, *, full_scale: float | None) -> float:
        """Return what is allowed at a level above zero, in % of it."""
        if self.is_of_reading:
            return float(self.reading_pct or 0.0)
        return 100.0 * self.allowed(level, full_scale=full_scale) / level

    def scaled(self, factor: float) -> Tolerance:
        """Return the tolerance with every part ``factor`` times as wide."""
        return replace(
            self,
            reading_pct=None if self.reading_pct is None else factor * self.reading_pct,
            span_pct=None if self.span_pct is None else factor * self.span_pct,
            absolute=None if self.absolute is None else factor * self.absolute,
        )
