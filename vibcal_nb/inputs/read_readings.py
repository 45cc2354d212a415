"""The reading table, checked row by row against what the asset's channels should be."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.asset import Asset, Channel
from vibcal_nb.inputs.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.problems import Problem, one_of, shown
from vibcal_nb.inputs.readings import CONDITIONS, TESTS, Reading, ReadingTable
from vibcal_nb.inputs.table_files import RawTable, read_table
from vibcal_nb.units import Unit, UnitError, acceptable_for, hz_from_rpm, is_convertible, parse_unit

REQUIRED = ("channel", "test", "condition", "applied", "applied_unit", "output", "output_unit")
FREQUENCIES = ("frequency_hz", "frequency_rpm")
OPTIONAL = ("direction", "repeat", "exclude", "note")
COLUMNS = (*REQUIRED[:3], *FREQUENCIES, *REQUIRED[3:], *OPTIONAL)
DIRECTIONS = ("rising", "falling")
LONGEST_TEXT = 2000


def read_readings(
    path: Path, problems: list[Problem], *, asset: Asset | None, columns: Mapping[str, str]
) -> ReadingTable | None:
    """Read a reading table, noting every problem of every row; None where there is one.

    Without an asset (its own file being refused) the checks that need its channels are left out.
    """
    raw = read_table(path, problems)
    if raw is None:
        return None
    before = len(problems)
    places = _place_columns(raw, path.name, columns, problems)
    if places is None:
        return None
    rows = [_RowReader(path.name, number, cells, places, raw, asset, problems) for number, cells in raw.rows]
    readings = [reading for row in rows if (reading := row.read()) is not None]
    if not rows:
        problems.append(Problem(file=path.name, found="no reading", remedy="put one reading into each row below row 1"))
    _note_repeated_rows(readings, path.name, problems)
    if len(problems) > before:
        return None
    return ReadingTable(readings=tuple(readings), file=path.name)


def _place_columns(
    raw: RawTable, file: str, mapped: Mapping[str, str], problems: list[Problem]
) -> dict[str, int] | None:
    """Return where each column stands; None, with the problems noted, where the headings do not do."""
    before = len(problems)
    places: dict[str, int] = {}

    def note(column: str | None, found: str, remedy: str) -> None:
        problems.append(Problem(file=file, row=1, column=column, found=found, remedy=remedy))

    for place, heading in enumerate(raw.headings):
        column = mapped.get(heading, heading.strip().lower() if heading not in mapped else heading)
        if not heading:
            if any(len(cells) > place and cells[place] for _, cells in raw.rows):
                note(str(place + 1), "no heading above filled cells", "give the column a heading")
        elif column not in COLUMNS:
            note(heading, "an unknown heading", one_of(column, COLUMNS) + ", or map it in visit.toml under [columns]")
        elif column in places:
            note(heading, f"the column {column} a second time", "keep one of the two")
        else:
            places[column] = place
    missing = [column for column in REQUIRED if column not in places]
    for column in missing:
        note(column, "no such column", "add it, or map its heading in visit.toml under [columns]")
    if sum(column in places for column in FREQUENCIES) != 1:
        found = "both frequency_hz and frequency_rpm" if "frequency_hz" in places else "no such column"
        note("frequency_hz", found, "give one of frequency_hz and frequency_rpm")
    return None if len(problems) > before else places


class _RowReader:
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
    ) -> None:
        self.file, self.number, self.cells, self.places = file, number, cells, places
        self.raw, self.asset, self.problems = raw, asset, problems

    def read(self) -> Reading | None:
        before = len(self.problems)
        if len(self.cells) > len(self.raw.headings):
            extra = next((cell for cell in self.cells[len(self.raw.headings) :] if cell), None)
            if extra is not None:
                self.note(
                    None, f"{shown(extra)} beyond the last heading", "remove it, or quote cells that hold the separator"
                )
                return None  # the cells before it are likely shifted, and their problems would mislead
        channel_tag, channel = self.channel()
        test = self.choice("test", TESTS)
        condition = self.choice("condition", CONDITIONS)
        fields: dict[str, Any] = {"frequency_hz": self.frequency()}
        least = 0.0 if test == "linearity" else None
        fields["applied"], fields["applied_decimals"] = self.number_cell(
            "applied", above=None if least == 0.0 else 0.0, least=least
        )
        fields["applied_unit"] = self.unit(
            "applied_unit", self.expected(channel, test, "input_unit"), vibration=test != "module-alone"
        )
        fields["output"], fields["output_decimals"] = self.number_cell("output")
        fields["output_unit"] = self.unit("output_unit", self.expected(channel, test, "output_unit"), vibration=False)
        self.check_output_sign(fields["output"], fields["output_unit"])
        direction = self.choice("direction", DIRECTIONS, required=False)
        repeat = self.repeat()
        exclude, note = self.text("exclude"), self.text("note")
        if len(self.problems) > before:
            return None
        return Reading(
            row=self.number,
            channel=channel_tag,
            test=test or "",
            condition=condition or "",
            direction=direction,
            repeat=repeat,
            exclude=exclude,
            note=note,
            **fields,
        )

    def note(self, column: str | None, found: str, remedy: str) -> None:
        self.problems.append(Problem(file=self.file, row=self.number, column=column, found=found, remedy=remedy))

    def cell(self, column: str) -> str:
        place = self.places.get(column)
        return "" if place is None or place >= len(self.cells) else self.cells[place]

    def channel(self) -> tuple[str, Channel | None]:
        tag = self.cell("channel")
        if self.asset is None:
            return tag, None
        if tag not in self.asset.channels:
            self.note("channel", shown(tag), one_of(tag, self.asset.channels))
        return tag, self.asset.channels.get(tag)

    def choice(self, column: str, options: tuple[str, ...], *, required: bool = True) -> str | None:
        text = self.cell(column)
        plain = text.lower().replace(" ", "-").replace("_", "-")
        if plain in options:
            return plain
        if text or required:
            self.note(column, shown(text), one_of(text, options))
        return None

    def frequency(self) -> float | None:
        column = "frequency_hz" if "frequency_hz" in self.places else "frequency_rpm"
        value, _ = self.number_cell(column, above=0.0)
        return value if value is None or column == "frequency_hz" else hz_from_rpm(value)

    def number_cell(
        self, column: str, *, above: float | None = None, least: float | None = None
    ) -> tuple[float | None, int | None]:
        text = self.cell(column)
        try:
            value, decimals = read_number(text, decimal_comma=self.raw.decimal_comma)
        except NumberRefused as refused:
            self.note(column, shown(text), str(refused))
            return None, None
        if (above is not None and value <= above) or (least is not None and value < least):
            self.note(
                column, shown(text), "give a number above 0" if above is not None else "give a number of 0 or more"
            )
            return None, None
        return value, decimals

    def check_output_sign(self, output: float | None, unit: Unit | None) -> None:
        if output is not None and unit is not None and unit.detector != "dc" and output < 0.0:
            self.note(
                "output", shown(self.cell("output")), f"an amplitude in {unit} cannot be negative: give it without sign"
            )

    def expected(self, channel: Channel | None, test: str | None, which: str) -> Unit | None:
        part: Any = channel
        if channel is not None and test in ("sensor-alone", "module-alone"):
            part = channel.sensor if test == "sensor-alone" else channel.module
        return None if part is None else getattr(part, which)

    def unit(self, column: str, expected: Unit | None, *, vibration: bool) -> Unit | None:
        text = self.cell(column)
        try:
            unit = parse_unit(text) if text else None
        except UnitError as error:
            self.note(column, error.found, error.remedy)
            return None
        if unit is None:
            self.note(
                column, "nothing", "give a unit with its detector, such as " + ("'mm/s pk'" if vibration else "'mV pk'")
            )
            return None
        if expected is not None and not is_convertible(unit, expected):
            self.note(column, shown(text), f"give {acceptable_for(expected)}")
            return None
        if expected is None and unit.is_vibration != vibration:
            self.note(
                column, shown(text), f"give {'a vibration' if vibration else 'an electrical'} unit with its detector"
            )
            return None
        return unit

    def repeat(self) -> int | None:
        text = self.cell("repeat")
        if not text:
            return None
        try:
            value, _ = read_number(text, decimal_comma=self.raw.decimal_comma)
        except NumberRefused:
            value = 0.5
        if value != int(value) or not 1 <= value <= 1_000_000:
            self.note("repeat", shown(text), "give a whole number from 1")
            return None
        return int(value)

    def text(self, column: str) -> str | None:
        text = self.cell(column)
        if len(text) > LONGEST_TEXT:
            self.note(column, f"a text of {len(text)} characters", f"give at most {LONGEST_TEXT}")
            return None
        return text or None


def _note_repeated_rows(readings: list[Reading], file: str, problems: list[Problem]) -> None:
    key: Callable[[Reading], tuple] = lambda r: (  # noqa: E731
        r.channel,
        r.test,
        r.condition,
        r.frequency_hz,
        r.applied,
        r.applied_unit.text,
        r.output,
        r.output_unit.text,
        r.direction,
        r.repeat,
        r.exclude,
    )
    first: dict[tuple, int] = {}
    for reading in readings:
        row = first.setdefault(key(reading), reading.row)
        if row != reading.row:
            found = f"the same reading as in row {row}"
            remedy = "remove one, or number them in the column repeat if it was really read twice"
            problems.append(Problem(file=file, row=reading.row, found=found, remedy=remedy))
