"""A result's entry taken apart: single numbers, tables of numbers and words, each with unit and uncertainty."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from vibcal_nb.inputs.certificates.dsi_units import SENSITIVITY_SCALE, dsi_text
from vibcal_nb.model.names import CHANNEL_VERDICT, GAP_CURVE, INDICATION, SENSOR_ALONE
from vibcal_nb.records.certificate.key_tables import INDEX, LEFT_OUT, PAIRS, PUBLISHED, Pair, name_of, unit_kind

Numbers = tuple[float | None, ...]

_OF_WHOLE = ("reach", "tests")
"""What of a whole channel's verdict is a quantity; its sentences stand in the statement of conformity."""


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """One quantity: numbers in ``unit`` (D-SI), or ``words``; a single one where ``single``.

    ``units`` has one unit for all, or one each. ``U`` is absolute in the value's unit, with its ``k``. ``reason`` says
    why there is no number.
    """

    key: str
    name: str
    ref_types: tuple[str, ...]
    single: bool
    values: Numbers = ()
    units: tuple[str, ...] = ()
    U: Numbers | None = None
    k: Numbers | None = None
    words: tuple[str, ...] | None = None
    reason: str | None = None


@dataclass(frozen=True, kw_only=True)
class QuantityTable:
    """Rows of quantities that belong together."""

    key: str
    name: str
    columns: tuple[Quantity, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ResultPart:
    """One result of an entry: its single quantities and its tables."""

    key: str
    name: str
    singles: tuple[Quantity, ...]
    tables: tuple[QuantityTable, ...]


@dataclass(frozen=True, kw_only=True)
class ChannelUnits:
    """The channel's own units, as symbols with their detectors: of levels, outputs."""

    input: str
    output: str


def units_of(entry: Mapping[str, Any], channel: Mapping[str, Any]) -> ChannelUnits:
    """Return the units that an entry's numbers are in, from the channel as its record states it."""
    analysis = entry["analysis"]
    if analysis == SENSOR_ALONE and channel.get("sensor"):
        return ChannelUnits(input=channel["sensor"]["input_unit"], output=channel["sensor"]["output_unit"])
    if analysis == GAP_CURVE:
        return ChannelUnits(input=channel["gap_curve"]["input_unit"], output=channel["gap_curve"]["output_unit"])
    if analysis == INDICATION:
        unit = channel[INDICATION]["unit"]
        return ChannelUnits(input=unit, output=unit)
    return ChannelUnits(input=channel.get("input_unit", ""), output=channel.get("output_unit", ""))


def parts_of_entry(entry: Mapping[str, Any], units: ChannelUnits) -> list[ResultPart]:
    """Take an entry of results apart. Raises ``DsiUnitRefused`` for a unit that D-SI lacks."""
    quantities, analysis = entry["quantities"], entry["analysis"]
    reasons = entry.get("undetermined") or {}
    reader = _Parts(analysis, units, reasons)
    if isinstance(quantities, list):
        if any(isinstance(item.get("points"), list) for item in quantities):
            return [reader.part("line", f"at {item['frequency_hz']:g} Hz", item) for item in quantities]
        tables = (reader.table(analysis, analysis.replace("-", " "), quantities),) if quantities else ()
        return [ResultPart(key="whole", name="what was found", singles=(), tables=tables)]
    own = {key: value for key, value in quantities.items() if analysis != CHANNEL_VERDICT or key in _OF_WHOLE}
    lines = own.pop("lines", None) or []
    found = [reader.part("whole", "what was found", own)]
    return found + [reader.part("line", f"at {item['frequency_hz']:g} Hz", item) for item in lines]


class _Parts:
    """Takes one entry apart; knows its analysis, its units, and why something could not be determined."""

    def __init__(self, analysis: str, units: ChannelUnits, reasons: Mapping[str, str]) -> None:
        self.analysis, self.units, self.reasons = analysis, units, reasons
        self.pairs = {pair.key: pair for pair in PAIRS.get(analysis, ()) if pair.scale is None}
        self.scaled = {pair.key: pair for pair in PAIRS.get(analysis, ()) if pair.scale is not None}

    def part(self, key: str, name: str, said: Mapping[str, Any]) -> ResultPart:
        reasons = {**self.reasons, **(said.get("undetermined") or {})}
        singles = tuple(self._singles(said, reasons))
        tables = [
            self.table(own, name_of(own), rows)
            for own, rows in said.items()
            if isinstance(rows, list) and rows and all(isinstance(row, Mapping) for row in rows)
        ]
        return ResultPart(key=key, name=name, singles=singles, tables=tuple(tables))

    def _singles(self, said: Mapping[str, Any], reasons: Mapping[str, str]) -> Iterator[Quantity]:
        flat = dict(_flat(said))
        taken = {name for key in flat for name in self._taken(self.pairs.get(key), flat)}
        for key, value in flat.items():
            if key in taken or _left_out(key):
                continue
            if value is None:
                reason = reasons.get(key) or reasons.get(key.partition(".")[0])
                yield self._quantity(key, single=True, reason=reason or "not determined")
            else:
                many = value if isinstance(value, list) else [value]
                yield self._filled(key, many, [flat], single=not isinstance(value, list))

    def table(self, key: str, name: str, rows: Sequence[Mapping[str, Any]]) -> QuantityTable:
        flat = [dict(_flat(row)) for row in rows]
        keys = list(dict.fromkeys(own for row in flat for own in row))
        index = next((own for own in INDEX if own in keys), None)
        ordered = [own for own in (index, *(own for own in keys if own != index)) if own is not None]
        taken = {
            name
            for own in ordered
            for name in (*self._taken(self.pairs.get(own), flat[0]), *self._taken(self.scaled.get(own), flat[0]))
        }
        columns = [
            self._filled(own, [row.get(own) for row in flat], flat, single=False, index=own == index)
            for own in ordered
            if own not in taken and not _left_out(own)
        ]
        remarks = tuple(
            f"row {row.get('row')}: excluded, {row['excluded']}" for row in flat if row.get("excluded") is not None
        )
        return QuantityTable(key=key, name=name, columns=tuple(columns), remarks=remarks)

    def _taken(self, pair: Pair | None, flat: Mapping[str, Any]) -> tuple[str, ...]:
        """Keys that stand beside their number as its U and k, and not for themselves."""
        if pair is None or pair.U not in flat or pair.k not in flat:
            return ()
        return (pair.k,) if pair.of_value else (pair.U, pair.k)

    def _filled(
        self, key: str, many: Sequence[Any], rows: Sequence[Mapping[str, Any]], *, single: bool, index: bool = False
    ) -> Quantity:
        kind = unit_kind(key, self.analysis)
        nothing = kind == "number" and all(value is None for value in many)
        if nothing or any(isinstance(value, str | bool | list) for value in many):
            words = tuple(_word(key, value) for value in many)
            return self._quantity(key, single=single, words=words, index=index)
        symbols, factors = zip(*(self._unit(key, rows[min(i, len(rows) - 1)]) for i in range(len(many))), strict=True)
        values = tuple(None if v is None else v * f for v, f in zip(many, factors, strict=True))
        U, k = self._uncertainty(key, many, rows, factors)
        units = symbols[:1] if len(set(symbols)) == 1 else symbols
        return self._quantity(key, single=single, values=values, units=units, U=U, k=k, index=index)

    def _uncertainty(
        self, key: str, many: Sequence[Any], rows: Sequence[Mapping[str, Any]], factors: Sequence[float]
    ) -> tuple[Numbers | None, Numbers | None]:
        pair = self.pairs.get(key) or self.scaled.get(key)
        if pair is None or len(rows) != len(many):
            return None, None
        U: list[float | None] = []
        k: list[float | None] = []
        for value, row, factor in zip(many, rows, factors, strict=True):
            given, own = row.get(pair.U), row.get(pair.k)
            here = pair.scale is None or row.get("scale") == pair.scale
            known = value is not None and given is not None and own is not None and here
            size = (abs(value) / 100.0 if pair.of_value else 1.0) * factor if known else 1.0
            U.append(given * size if known and given is not None else None)
            k.append(own if known else None)
        return (None, None) if all(item is None for item in U) else (tuple(U), tuple(k))

    def _unit(self, key: str, row: Mapping[str, Any]) -> tuple[str, float]:
        kind = unit_kind(key, self.analysis)
        if kind == "sensitivity":
            (out, scale_out), (given, scale_in) = _scaled(self.units.output), _scaled(self.units.input)
            return dsi_text(out, per=given), scale_out / scale_in
        text = {"output": self.units.output, "input": self.units.input, "own": row.get("unit", "1"), "number": "1"}
        symbol, scale = _scaled(text.get(kind, kind))
        return dsi_text(symbol), scale

    def _quantity(self, key: str, *, single: bool, index: bool = False, **fields: Any) -> Quantity:
        kind = unit_kind(key, self.analysis)
        own = {
            "sensitivity": f"{self.units.output} per {self.units.input}",
            "output": self.units.output,
            "input": self.units.input,
        }
        name = name_of(key) + (f" ({own[kind]})" if kind in own and "words" not in fields else "")
        published = (*(("basic_tableIndex0",) if index else ()), *((PUBLISHED[key],) if key in PUBLISHED else ()))
        return Quantity(key=key, name=name, ref_types=(*published, ref_type(key)), single=single, **fields)


def _scaled(unit: str) -> tuple[str, float]:
    """The symbol of a unit, without its detector, that D-SI has, and how many of it the unit is."""
    symbol = unit.split(" ")[0]
    return SENSITIVITY_SCALE.get(symbol, (symbol, 1.0))


def ref_type(key: str) -> str:
    """Return the private refType that carries a key."""
    return f"x_{re.sub(r'[^0-9A-Za-z_.-]', '_', key)}"


def _left_out(key: str) -> bool:
    head = key.partition(".")[0]
    return any(head == name or head.endswith(f"_{name}") for name in LEFT_OUT)


def _flat(said: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, Any]]:
    """Every number, word, or list of them, those of inner tables under ``table.key``; lists of tables are none."""
    for key, value in said.items():
        if isinstance(value, Mapping):
            if key != "undetermined":
                yield from _flat(value, f"{prefix}{key}.")
        elif isinstance(value, list):
            if value and not any(isinstance(item, Mapping) for item in value):
                yield f"{prefix}{key}", value
        else:
            yield f"{prefix}{key}", value


def _word(key: str, value: Any) -> str:
    """One token of a list of words: without blanks, which part a list."""
    if key == "excluded":
        return "used" if value is None else "excluded"
    if value is None:
        return "notJudged" if "verdict" in key else "none"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "+".join(_word(key, item) for item in value) or "none"
    return token_of(str(value)) if "verdict" in key or key.startswith("tests.") else re.sub(r"\s+", "_", str(value))


def token_of(words: str) -> str:
    """Write a verdict as the schema does: ``conditional pass`` is ``conditionalPass``.

    Examples
    --------
    >>> token_of("not verified")
    'notVerified'
    """
    first, *rest = words.split()
    return first + "".join(word.capitalize() for word in rest)
