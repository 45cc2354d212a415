"""What a channel, or its sensor, states of its phase."""

from __future__ import annotations

from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.asset import PhaseLimit, PhaseSpecification

_TURN = 360.0


def read_phase(part: TomlTable) -> PhaseSpecification | None:
    """Read the table ``phase`` of a channel or of its sensor; None, with the problems noted, where there is none."""
    table = part.table("phase")
    if table is None:
        return None
    before = len(table.problems)
    fields = table.read("polarity", "delay_ms")
    fields["limits"] = tuple(_read_limits(table))
    table.finish()
    if len(table.problems) == before and not any(fields.values()):
        table.note("polarity", "nothing", "give polarity, limits or delay_ms, or leave the table out")
    return None if len(table.problems) > before else PhaseSpecification(**fields)


def _read_limits(table: TomlTable) -> list[PhaseLimit]:
    limits = []
    for item in table.tables("limits"):
        hz, low, high = item.number("hz"), item.number("min_deg"), item.number("max_deg")
        item.finish()
        if low is None or high is None or hz is None:
            continue
        if low >= high:
            item.note("min_deg", f"{low:g} at or above max_deg {high:g}", "swap them")
        elif high - low >= _TURN:
            item.note("max_deg", f"{high - low:g} degrees from min_deg", "give limits less than a whole turn apart")
        else:
            limits.append(PhaseLimit(frequency_hz=hz, min_deg=low, max_deg=high))
    return limits
