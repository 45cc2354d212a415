"""The tolerance of a channel, in every form in which it is written, and that of its live zero."""

from __future__ import annotations

from vibcal_nb.inputs.files.toml_table import TomlTable
from vibcal_nb.model.tolerance import Tolerance

_PARTS = ("reading_pct", "span_pct", "absolute")


def read_tolerance(channel: TomlTable) -> Tolerance | None:
    """Read ``tolerance_pct`` or ``tolerance``; None, with the problem noted, where there is none to judge by."""
    short, table = channel.number("tolerance_pct"), channel.table("tolerance")
    if table is None:
        return None if short is None else Tolerance(reading_pct=short)
    before = len(channel.problems)
    found = read_parts(channel, table)
    stated = [name for name in _PARTS if name in table.values]
    if stated != ["reading_pct"] and "full_scale" not in channel.values:
        channel.note("full_scale", f"nothing, though the tolerance has {stated[-1] if stated else 'none'}", _WHY)
    return None if len(channel.problems) > before else found


def read_parts(owner: TomlTable, table: TomlTable) -> Tolerance | None:
    """Read the parts of a tolerance that ``owner`` states as ``table``; None, with the problem noted, without any."""
    before = len(table.problems)
    fields = table.read(*_PARTS, "rule")
    table.finish()
    stated = [name for name in _PARTS if name in table.values]
    if not stated:
        owner.note("tolerance", "no limit", f"give {', '.join(_PARTS[:-1])} or {_PARTS[-1]}")
    if len(stated) > 1 and "rule" not in table.values:
        remedy = 'give rule = "sum" or rule = "larger", which says how they count together'
        table.note("rule", f"{' and '.join(stated)} without a rule", remedy)
    if len(table.problems) > before:
        return None
    return Tolerance(**{**fields, "rule": fields["rule"] or "sum"})


_WHY = "give the level at the top of the range, of which span is counted"


def read_zero_tolerance(channel: TomlTable) -> float | None:
    """Read how far the live zero of a dc output may be off, in % of span; None where nothing is stated."""
    table = channel.table("zero")
    if table is None:
        return None
    limit = table.number("tolerance_span_pct")
    table.finish()
    unit = channel.values.get("output_unit")
    if isinstance(unit, str) and "dc" not in unit.lower():
        channel.note("zero", f"a limit of the zero though the output is {unit}", "leave it out, or give a dc output")
    if "full_scale" not in channel.values:
        channel.note("full_scale", "nothing, though zero has a limit in % of span", _WHY)
    return limit
