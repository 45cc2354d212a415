"""One row of a reading table: each cell checked, each problem a sentence of its own."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from vibcal_nb.inputs.files.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.files.table_files import RawTable
from vibcal_nb.inputs.tags import find_tag
from vibcal_nb.model.asset import Asset, Channel
from vibcal_nb.model.keys.reading_columns import OF_CHECKS, READING_TABLE, USED_BY
from vibcal_nb.model.names import (
    ELECTRICAL,
    GAP_CURVE,
    INDICATION,
    LINEARITY,
    MODULE_ALONE,
    SENSOR_ALONE,
    SHAKER_TESTS,
    STATIC_TESTS,
)
from vibcal_nb.model.readings import PendingRow, Reading
from vibcal_nb.model.relay.check_rows import CheckRow
from vibcal_nb.problems import Problem, one_of, shown
from vibcal_nb.units import (
    GAP,
    Unit,
    UnitError,
    acceptable_for,
    hz_from_rpm,
    is_convertible,
    parse_gap_unit,
    parse_unit,
)

VIBRATION: Final = "vibration"
_APPLIED = {MODULE_ALONE: ELECTRICAL, GAP_CURVE: GAP}
"""What is applied in a test, where that is no vibration."""
_EXAMPLES = {
    VIBRATION: "a unit with its detector, such as 'mm/s pk'",
    ELECTRICAL: "a unit with its detector, such as 'mV pk'",
    GAP: "a length without a detector, such as 'mm'",
}
_PARTS = {SENSOR_ALONE: "sensor", MODULE_ALONE: "module", GAP_CURVE: "gap_curve"}
"""The part of a channel by whose units the readings of a test are taken, where that is not the whole."""
_SHARES = {"u_pct": "standard_uncertainty_pct", "thd_pct": "thd_pct", "harmonics_pct": "harmonics_pct"}
_PHASES = {"phase_deg": "phase_deg", "phase_u_deg": "phase_standard_uncertainty_deg"}


class RowReader:
    """One row: each check notes its own problem, so that a row with three mistakes has three sentences."""

    def __init__(
        self,
        file: str,
        number: int,
        cells: tuple[str, ...],
        places: Mapping[str, int],
        raw: RawTable,
        asset: Asset | None,
        problems: list[Problem],
        *,
        has_decimal_commas: bool = False,
    ) -> None:
        self.file, self.number, self.cells, self.places = file, number, cells, places
        self.raw, self.asset, self.problems = raw, asset, problems
        self.has_decimal_commas = has_decimal_commas  # then a point may mean a thousand to whoever typed it

    def read(self) -> Reading | PendingRow | CheckRow | None:
        """Return what was read, or the row that is not yet read; None where there is a problem, which is noted."""
        if len(self.cells) > len(self.raw.headings):
            split = self._split_number()
            if split is not None:
                remedy = "write decimal points, or separate the cells by semicolons"
                self._note(None, f"{shown(split)} split at its comma", remedy)
                return None
            extra = next((cell for cell in self.cells[len(self.raw.headings) :] if cell), None)
            if extra is not None:
                self._note(
                    None,
                    f"{shown(extra)} beyond the last heading",
                    "remove it, or quote cells that hold the separator",
                )
                return None  # the cells before it are likely shifted, and their problems would mislead
        return self.read_cells()

    def read_cells(self) -> Reading | PendingRow | CheckRow | None:
        """Return the reading, or the row that is not yet one, of a row of as many cells as there are headings."""
        before = len(self.problems)
        channel_tag, channel = self._channel()
        test, condition = self._choice("test"), self._choice("condition")
        fields: dict[str, Any] = {"frequency_hz": self._frequency(test)}
        if not self.is_pending or self._cell("applied"):
            fields["applied"], fields["applied_decimals"] = self._applied(test)
        reference, own_output = self._reference(test)
        fields["applied_unit"] = self._unit(
            "applied_unit",
            None if own_output else self._expected(channel, test, "input_unit"),
            kind=ELECTRICAL if own_output else _APPLIED.get(test or "", VIBRATION),
        )
        if not self.is_pending:
            fields["output"], fields["output_decimals"] = self._number("output")
        kind = VIBRATION if test == INDICATION else ELECTRICAL
        fields["output_unit"] = self._unit("output_unit", self._expected(channel, test, "output_unit"), kind=kind)
        self.check_blank(test)
        self._check_output_sign(fields.get("output"), fields["output_unit"])
        direction = self._choice("direction")
        repeat = self._repeat()
        phase = {} if self.is_pending else self._phase(test, fields["output_unit"])
        temperature = self._temperature(test)
        exclude, note = self._text("exclude"), self._text("note")
        if len(self.problems) > before:
            return None
        what: dict[str, Any] = {"row": self.number, "channel": channel_tag, "test": test, "condition": condition}
        if self.is_pending:
            level = fields.get("applied") or self._planned_level()
            where = {name: fields[name] for name in ("frequency_hz", "applied_unit")}
            return PendingRow(**what, **where, exclude=exclude, level=level, direction=direction, repeat=repeat)
        fields |= {"direction": direction, "repeat": repeat, "exclude": exclude, "note": note}
        fields |= {field: self._optional_number(column) for field, column in _SHARES.items()}
        fields |= phase | {"reference": reference, "temperature_c": temperature}
        return Reading(**what, **fields)

    def _split_number(self) -> str | None:
        """A number whose decimal comma was taken for the separator: digits stand where a unit belongs."""
        for number, unit in (("applied", "applied_unit"), ("output", "output_unit")):
            if not self.raw.decimal_comma and self._cell(unit).isdigit() and self._cell(number).isdigit():
                return f"{self._cell(number)},{self._cell(unit)}"
        return None

    def check_blank(self, test: str | None) -> None:
        """Note what stands in columns that rows of the test leave blank: it would be lost."""
        for column in OF_CHECKS:
            if test is not None and column not in USED_BY.get(test, ()) and self._cell(column):
                remedy = f"rows of {test} leave it blank: move it, or write it into note"
                self._note(column, shown(self._cell(column)), remedy)

    def _note(self, column: str | None, found: str, remedy: str) -> None:
        self.problems.append(Problem(file=self.file, row=self.number, column=column, found=found, remedy=remedy))

    def _cell(self, column: str) -> str:
        place = self.places.get(column)
        return "" if place is None or place >= len(self.cells) else self.cells[place]

    @property
    def is_pending(self) -> bool:
        """Whether the row is not yet a reading; a row of stray cells beyond the last heading is none either."""
        return not self._cell("output")

    def _applied(self, test: str | None) -> tuple[float | None, int | None]:
        value, decimals = self._number("applied")
        if value == 0.0 and test not in (
            LINEARITY,
            GAP_CURVE,
        ):  # the output at no vibration belongs to a line, and to nothing else
            self._note("applied", shown(self._cell("applied")), "give a number above 0")
            return None, None
        return value, decimals

    def _planned_level(self) -> float | None:
        """What a prepared sheet plans for the row; nothing is amiss where it does not."""
        try:
            return read_number(self._cell("planned"), decimal_comma=self.raw.decimal_comma)[0]
        except NumberRefused:
            return None

    def _optional_number(self, column: str) -> float | None:
        return self._number(column)[0] if self._cell(column) else None

    def _reference(self, test: str | None) -> tuple[str | None, bool]:
        """The reference that the row names, and whether what was applied is written down as its own output."""
        named = self._text("reference")
        if named is not None and test not in SHAKER_TESTS:
            self._note("reference", shown(named), f"rows of {test} leave it blank")
            return None, False
        try:
            unit = parse_unit(self._cell("applied_unit"))
        except UnitError:
            return named, False
        is_output = test in SHAKER_TESTS and not unit.is_vibration
        if is_output and named is None:
            remedy = "name in the column reference the reference whose output it is, or give the level"
            self._note("applied_unit", shown(self._cell("applied_unit")), remedy)
        return named, is_output

    def _temperature(self, test: str | None) -> float | None:
        text = self._cell("temperature_c")
        if text and test != SENSOR_ALONE:
            self._note("temperature_c", shown(text), f"rows of {test} leave it blank: the sensor alone is heated")
            return None
        return self._optional_number("temperature_c")

    def _phase(self, test: str | None, output_unit: Unit | None) -> dict[str, Any]:
        """The phase, its digits and its uncertainty; noted where a test or an output has none."""
        given = {field: column for field, column in _PHASES.items() if self._cell(column)}
        dc = output_unit is not None and output_unit.detector == "dc"
        for column in given.values():
            if test in STATIC_TESTS or test == INDICATION or dc:
                why = f"a {test} has no phase" if not dc else f"an output in {output_unit} has no phase"
                self._note(column, shown(self._cell(column)), f"leave it empty: {why}")
                return {}
        if "phase_u_deg" in given and "phase_deg" not in given:
            self._note("phase_deg", "nothing", f"give the phase that {_PHASES['phase_u_deg']} belongs to")
        found: dict[str, Any] = {field: self._number(column) for field, column in given.items()}
        decimals = found["phase_deg"][1] if "phase_deg" in given else None
        return {field: number for field, (number, _) in found.items()} | {"phase_decimals": decimals}

    def _channel(self) -> tuple[str, Channel | None]:
        tag = self._cell("channel")
        if self.asset is None:
            return tag, None
        known = find_tag(tag, self.asset.channels)
        if known is None and (older := find_tag(tag, self.asset.by_older_tag)) is not None:
            known = self.asset.by_older_tag[older]
        if known is None:
            self._note("channel", *self._unknown_channel(tag, self.asset))
            return tag, None
        return known, self.asset.channels[known]

    @staticmethod
    def _unknown_channel(tag: str, asset: Asset) -> tuple[str, str]:
        """What was found, and what to do."""
        retired = find_tag(tag, asset.retired_channels)
        if retired is None:
            return shown(tag), one_of(tag, asset.channels)
        since = asset.retired_channels[retired].isoformat()
        return f"{shown(tag)}, retired since {since}", "mend the tag, or the day in asset.toml"

    def _plain_word(self, column: str) -> str:
        return self._cell(column).lower().replace(" ", "-").replace("_", "-")

    def _choice(self, column: str) -> str | None:
        key, text = READING_TABLE[column], self._cell(column)
        plain = self._plain_word(column)
        if plain in key.choices:
            return plain
        if text or key.required:
            self._note(column, shown(text), one_of(text, key.choices, most=None))
        return None

    def _frequency(self, test: str | None) -> float | None:
        if test in STATIC_TESTS:
            self._check_no_frequency(test)
            return 0.0
        column = "frequency_hz" if "frequency_hz" in self.places else "frequency_rpm"
        value, _ = self._number(column)
        return value if value is None or column == "frequency_hz" else hz_from_rpm(value)

    def _check_no_frequency(self, test: str) -> None:
        for column in ("frequency_hz", "frequency_rpm"):
            text = self._cell(column)
            if text.strip("0.,"):
                self._note(column, shown(text), f"leave it empty: nothing vibrates in a {test}")

    def _number(self, column: str) -> tuple[float | None, int | None]:
        """Return the number in a cell and its digits as typed; None twice, with the problem noted, where it is none."""
        key, text = READING_TABLE[column], self._cell(column)
        try:
            value, decimals = read_number(text, decimal_comma=self.raw.decimal_comma)
        except NumberRefused as refused:
            self._note(column, shown(text), str(refused))
            return None, None
        if self.has_decimal_commas and "." in text:
            self._note(column, shown(text), "give decimal commas throughout: other numbers of this table have them")
            return None, None
        if not key.admits(value):
            self._note(column, shown(text), f"give a number{key.bounds}")
            return None, None
        told = decimals != 0 or self.raw.keeps_zeros
        return value, decimals if told else None

    def _check_output_sign(self, output: float | None, unit: Unit | None) -> None:
        if output is not None and unit is not None and unit.detector != "dc" and output < 0.0:
            self._note(
                "output",
                shown(self._cell("output")),
                f"an amplitude in {unit} cannot be negative: give it without sign",
            )

    def _expected(self, channel: Channel | None, test: str | None, which: str) -> Unit | None:
        part: Any = channel
        if channel is not None and test == INDICATION and which == "output_unit":
            return channel.input_unit if channel.indication is None else channel.indication.unit
        if channel is not None and test in _PARTS:
            part = getattr(channel, _PARTS[test])
        return None if part is None else getattr(part, which)

    def _unit(self, column: str, expected: Unit | None, *, kind: str) -> Unit | None:
        text = self._cell(column)
        try:
            unit = None if not text else parse_gap_unit(text) if kind == GAP else parse_unit(text)
        except UnitError as error:
            self._note(column, error.found, error.remedy)
            return None
        if unit is None:
            self._note(column, "nothing", f"give {_EXAMPLES[kind]}")
            return None
        if expected is not None and not is_convertible(unit, expected):
            self._note(column, shown(text), f"give {acceptable_for(expected)}")
            return None
        if expected is None and kind != GAP and unit.is_vibration != (kind == VIBRATION):
            an = "a vibration" if kind == VIBRATION else "an electrical"
            self._note(column, shown(text), f"give {an} unit with its detector")
            return None
        return unit

    def _repeat(self) -> int | None:
        key, text = READING_TABLE["repeat"], self._cell("repeat")
        if not text:
            return None
        try:
            value, _ = read_number(text, decimal_comma=self.raw.decimal_comma)
        except NumberRefused:
            value = 0.5
        if value != int(value) or not key.admits(value):
            self._note("repeat", shown(text), "give a whole number from 1")
            return None
        return int(value)

    def _text(self, column: str) -> str | None:
        key, text = READING_TABLE[column], self._cell(column)
        if len(text) > key.longest:
            self._note(column, f"a text of {len(text)} characters", f"give at most {key.longest}")
            return None
        return text or None
