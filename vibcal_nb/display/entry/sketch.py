"""Where a reading stands among the others so far: each as its departure from what a good channel gives."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

_Scale = Callable[[float], float]

WIDTH, HEIGHT = 480.0, 250.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 54.0, 12.0, 22.0, 38.0
LEAST_SPAN = 2.0  # of the vertical scale, in times the limits
_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One reading: ``at`` is its level or frequency, ``off_pct`` its departure in %, between ``low`` and ``high``."""

    at: float
    off_pct: float
    low: float
    high: float
    now: bool = False

    @property
    def outside(self) -> bool:
        """Whether it lies outside its limits."""
        return not self.low <= self.off_pct <= self.high


def sketch_svg(
    marks: Sequence[Mark],
    *,
    over: str,
    logarithmic: bool,
    lines: Sequence[tuple[str, float]] = (),
    reach: Sequence[float] = (),
) -> str:
    """Return the sketch as SVG, '' without a mark.

    ``over`` names the horizontal axis with its unit, ``lines`` are levels with names, ``reach`` is what else the axis
    covers.
    """
    if not marks:
        return ""
    shown = [mark for mark in marks if math.isfinite(mark.off_pct) and (mark.at > 0.0 or not logarithmic)]
    places = [mark.at for mark in shown] + [at for _, at in lines] + [at for at in reach if at > 0.0]
    low, high = _ends(places, logarithmic)
    half = _half(shown)

    def x(at: float) -> float:
        share = math.log(at / low) / math.log(high / low) if logarithmic else (at - low) / (high - low)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def y(off: float) -> float:
        share = (half - max(min(off, half), -half)) / (2.0 * half)
        return _TOP + share * (HEIGHT - _TOP - _BOTTOM)

    parts = [_limits(shown, x, y, (low, high))]
    step = next((step for step in _STEPS if half / step <= 3.0), _STEPS[-1])
    for number in range(-int(half / step), int(half / step) + 1):
        height = y(number * step)
        parts.append(f'<path class="axis" d="M{_LEFT} {height:.1f}H{WIDTH - _RIGHT}"/>')
        label = f"{number * step:+g}".replace("-", "−") if number else "0"
        parts.append(f'<text class="faint" x="{_LEFT - 6}" y="{height + 4:.1f}" text-anchor="end">{label}</text>')
    for name, at in lines:
        parts.append(f'<path class="set" d="M{x(at):.1f} {_TOP}V{HEIGHT - _BOTTOM}"/>')
        parts.append(f'<text class="faint" x="{x(at):.1f}" y="{_TOP + 12}" text-anchor="middle">{escape(name)}</text>')
    for at in _ticks(low, high, logarithmic):
        parts.append(
            f'<text class="faint" x="{x(at):.1f}" y="{HEIGHT - _BOTTOM + 16}" text-anchor="middle">{at:g}</text>'
        )
    for mark in sorted(shown, key=lambda mark: mark.now):
        kind = f"{'now' if mark.now else 'dot'}{' out' if mark.outside else ''}"
        place = f'cx="{x(mark.at):.1f}" cy="{y(mark.off_pct):.1f}" r="{7 if mark.now else 4}"'
        parts.append(f'<circle class="{kind}" {place}/>')
    parts.append(f'<text class="faint" x="{_LEFT}" y="14">departure from expected, %</text>')
    parts.append(f'<text class="faint" x="{WIDTH - _RIGHT}" y="{HEIGHT - 6}" text-anchor="end">{escape(over)}</text>')
    return (
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="100%" role="img" aria-label="{escape(_in_words(shown))}">'
        f"{''.join(parts)}</svg>"
    )


def _in_words(marks: Sequence[Mark]) -> str:
    out = sum(mark.outside for mark in marks)
    now = next((mark for mark in marks if mark.now), None)
    last = f" The last one is {now.off_pct:+.2f} % off." if now is not None else ""
    return f"{len(marks)} readings so far, {out} outside their limits.{last}"


def _ends(places: Sequence[float], logarithmic: bool) -> tuple[float, float]:
    low, high = min(places), max(places)
    if logarithmic:
        return low / 1.3, high * 1.3
    return 0.0, 1.08 * high or 1.0


def _half(marks: Sequence[Mark]) -> float:
    """Half the height of the scale: wide enough for the limits and for what is not far beyond them."""
    limits = [abs(value) for mark in marks for value in (mark.low, mark.high) if math.isfinite(value)]
    usual = sorted(limits)[len(limits) // 2] if limits else 5.0
    offs = sorted(abs(mark.off_pct) for mark in marks)
    return max(LEAST_SPAN * usual, min(1.2 * offs[-1], 6.0 * usual), 0.1)


def _ticks(low: float, high: float, logarithmic: bool) -> list[float]:
    if logarithmic:
        powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        return [part * 10.0**n for n in powers for part in (1.0, 2.0, 5.0) if low <= part * 10.0**n <= high]
    step = next((s for s in (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, *_STEPS) if high / s <= 7.0), high)
    return [float(f"{n * step:.6g}") for n in range(int(high / step) + 1)]


def _limits(marks: Sequence[Mark], x: _Scale, y: _Scale, ends: tuple[float, float]) -> str:
    """The limits as a band through those of the readings, on to both ends of the axis."""
    ordered = sorted({(mark.at, mark.low, mark.high) for mark in marks})
    if len(ordered) == 1:
        _, low, high = ordered[0]
        size = f'width="{WIDTH - _LEFT - _RIGHT}" height="{y(low) - y(high):.1f}"'
        return f'<rect class="allowed" x="{_LEFT}" y="{y(high):.1f}" {size}/>'
    ordered = [(ends[0], *ordered[0][1:]), *ordered, (ends[1], *ordered[-1][1:])]
    above = "".join(f"{x(at):.1f} {y(high):.1f}L" for at, _, high in ordered).rstrip("L")
    below = "".join(f"L{x(at):.1f} {y(low):.1f}" for at, low, _ in reversed(ordered))
    return f'<path class="allowed" d="M{above}{below}z"/>'
