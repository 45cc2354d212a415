"""A tolerance in words, in every form in which the trade writes one."""

from __future__ import annotations

from vibcal_nb.model.asset import Channel
from vibcal_nb.model.tolerance import Tolerance


def tolerance_text(channel: Channel, *, space: str = " ") -> str:
    """Write how far the channel's indication may lie from the true level: ``± 5 %``, ``± 1 % of span``."""
    parts = _parts(channel.tolerance, channel.input_unit.shown)
    if len(parts) == 1:
        return f"±{space}{parts[0]}"
    if channel.tolerance.rule == "sum":
        return f"±{space}({' + '.join(parts)})"
    return f"±{space}the {'larger' if len(parts) == 2 else 'largest'} of {', '.join(parts[:-1])} and {parts[-1]}"


def _parts(tolerance: Tolerance, unit: str) -> list[str]:
    of_reading = "" if tolerance.is_of_reading else " of reading"
    parts = []
    if tolerance.reading_pct is not None:
        parts.append(f"{tolerance.reading_pct:g} %{of_reading}")
    if tolerance.span_pct is not None:
        parts.append(f"{tolerance.span_pct:g} % of span")
    if tolerance.absolute is not None:
        parts.append(f"{tolerance.absolute:g} {unit}")
    return parts
