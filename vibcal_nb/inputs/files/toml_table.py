"""A table of a TOML file, taken apart by its keys' descriptions; every problem is noted and none stops the reading."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.files.merge_marks import REMEDY, merge_marks
from vibcal_nb.inputs.files.numbers_as_typed import LARGEST, SMALLEST
from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable, KeyType
from vibcal_nb.model.names import ELECTRICAL
from vibcal_nb.problems import Problem, as_text, one_of, shown
from vibcal_nb.units import GAP, Unit, UnitError, parse_gap_unit, parse_unit

MOST_BYTES = 5_000_000
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
# tomllib's time grows with the square of the parts of a dotted key; a person writes three or four
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::[0-5]\d)?")
_MANY_PARTS = re.compile(rf"(?:\.[ \t]*+{_PART}[ \t]*+){{50}}\.")


def load_toml(path: Path, problems: list[Problem]) -> dict[str, Any] | None:
    """Load a TOML file; None, with the problem noted, where it is missing, not TOML, or unreasonably large."""

    def refuse(found: str, remedy: str) -> None:
        problems.append(Problem(file=path.name, found=found, remedy=remedy))

    try:
        if not path.is_file():  # reading a pipe would wait for whoever writes to it
            raise FileNotFoundError
        data = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    except OSError:
        refuse("no such file", f"put a {path.name} into {path.parent.name or 'the folder'}")
        return None
    if data is None:
        refuse(f"more than {MOST_BYTES // 1_000_000} MB", "give a file of the size a person writes")
        return None
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
        marks = merge_marks(text)
        if marks is not None:
            refuse(marks, REMEDY)
            return None
        if _MANY_PARTS.search(text):
            refuse("a key of more than 50 parts with dots between", "give keys as the documentation names them")
            return None
        return tomllib.loads(text)
    except UnicodeDecodeError:
        refuse("bytes that are not UTF-8", "save the file as UTF-8")
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        refuse(f"text that is not TOML ({str(error) or 'nested too deeply'})", "mend the line that is named")
    except ValueError:  # of Python itself, which reads no integer of more than 4300 digits
        refuse("a number of thousands of digits", "give numbers of the size a person writes")
    return None


@dataclass(frozen=True, kw_only=True)
class Layer:
    """What one file states of a table: its values, and the headings above them (``channels.V11.``)."""

    file: str
    prefix: str
    values: dict[str, Any]

    def below(self, key: str) -> Layer:
        """Return the layer of a table that stands below ``key``; empty where something else stands there."""
        value = self.values.get(key)
        values = value if isinstance(value, dict) else {}
        return Layer(file=self.file, prefix=f"{self.prefix}{key}.", values=values)


class TomlTable:
    """One table by its ``keys``: each method takes a key, notes what is wrong with its value, and returns it.

    A table may lie in several layers, the most particular last: what a kind states and what its channel states. The
    last layer that has a key counts; tables merge key by key. A problem is noted where the value stands. A key that
    ``keys`` does not describe cannot be read: that raises ``KeyError``.
    """

    def __init__(self, keys: KeyTable, layers: tuple[Layer, ...], problems: list[Problem]) -> None:
        self.keys, self.layers, self.problems = keys, layers, problems
        self.values: dict[str, Any] = {}
        for layer in layers:
            others = [key.instead_of for key in keys.keys if key.name in layer.values]
            self.values = {name: value for name, value in self.values.items() if name not in others} | layer.values

    @classmethod
    def of_file(cls, keys: KeyTable, file: str, values: dict[str, Any], problems: list[Problem]) -> TomlTable:
        """Return the table of a whole file."""
        return cls(keys, (Layer(file=file, prefix="", values=values),), problems)

    def place(self, key: str) -> Layer:
        """Return the layer that a key's value comes from; the most particular one where the key is missing."""
        return next((layer for layer in reversed(self.layers) if key in layer.values), self.layers[-1])

    def note(self, key: str, found: str, remedy: str) -> None:
        """Note a problem with a key of this table."""
        place = self.place(key)
        self.problems.append(Problem(file=place.file, column=place.prefix + key, found=found, remedy=remedy))

    def give(self, key: str, value: Any) -> None:
        """Take a value that another file states, as if it stood in this table."""
        self.layers = (
            *self.layers,
            Layer(file=self.layers[-1].file, prefix=self.layers[-1].prefix, values={key: value}),
        )
        self.values[key] = value

    def check_name(self, key: str) -> None:
        """Note a key that is no name which a person could read in a table: of its own choice, but on one line."""
        if not (key.strip() and key.isprintable() and len(key) <= LONGEST_NAME):
            self.note(key, f"the name {shown(key)}", f"give a name of 1 to {LONGEST_NAME} characters on one line")

    def take(self, name: str, *types: KeyType) -> tuple[Key, Any]:
        """Return the description and the raw value, or None; a missing required key is noted."""
        key = self.keys[name]
        if key.type not in types:
            raise KeyError(f"{self.keys.heading} describes '{name}' as a {key.type}")
        if name not in self.values and key.required and key.instead_of is None:
            self.note(name, "nothing", f"give {expected(key)}")
        return key, self.values.get(name)

    def read(self, *names: str) -> dict[str, Any]:
        """Return the values of several keys by name, each as its description says."""
        by_type = {
            "text": self.text,
            "number": self.number,
            "pair of numbers": self.pair,
            "number or pair of numbers": self.number_or_pair,
            "date": self.day,
            "time": self.clock,
            "unit": self.unit,
            "choice": self.choice,
            "true or false": self.flag,
            "list of texts": self.texts,
            "whole number": self.whole,
        }
        return {name: by_type[self.keys[name].type](name) for name in names}

    def text(self, name: str) -> str:
        """Return a text, empty where there is none; control characters are refused except line breaks."""
        key, value = self.take(name, "text")
        if value is None:
            return ""
        printable = isinstance(value, str) and all(c.isprintable() or c in "\n\t\r" for c in value)
        if not printable or len(value) > key.longest or (key.required and not value.strip()):
            self.note(name, shown(value), f"give {expected(key)}")
            return ""
        return str(value)

    def optional_text(self, name: str) -> str | None:
        """Return a text, or None where there is none."""
        return self.text(name) or None

    def number(self, name: str) -> float | None:
        """Return a finite number within its bounds, or its default; None, with the problem noted, otherwise."""
        key, value = self.take(name, "number")
        if value is None:
            return None if key.default is None else float(key.default)  # type: ignore[arg-type]
        number = _as_number(value)
        if number is None or not key.admits(number):
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return number

    def whole(self, name: str) -> int | None:
        """Return a whole number within its bounds, or its default; None, with the problem noted, otherwise."""
        key, value = self.take(name, "whole number")
        if value is None:
            return None if key.default is None else int(key.default)  # type: ignore[call-overload]
        if isinstance(value, bool) or not isinstance(value, int) or not key.admits(value):
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return int(value)

    def texts_by_heading(self, name: str) -> dict[str, str]:
        """Return texts by what a person wrote on the left; numbers become the texts that one would type."""
        key, value = self.take(name, "column by heading")
        if value is None:
            return {}
        if not isinstance(value, dict):
            self.note(name, shown(value), f"give a table such as {key.example}")
            return {}
        found = {}
        for heading, item in value.items():
            if isinstance(item, str) or (isinstance(item, int | float) and not isinstance(item, bool)):
                found[heading.strip()] = as_text(item)
            else:
                self.note(f"{name}.{heading}", shown(item), "give a text in quotes")
        return found

    def pair(self, name: str) -> tuple[float, float] | None:
        """Return two ascending numbers, or their default."""
        key, value = self.take(name, "pair of numbers")
        if value is None:
            return key.default  # type: ignore[return-value]
        numbers = [_as_number(item) for item in value] if isinstance(value, list) else []
        first, second = numbers if len(numbers) == 2 else (None, None)
        if first is None or second is None or first >= second or not key.admits(first):
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return first, second

    def number_or_pair(self, name: str) -> tuple[float, float] | None:
        """Return one number twice, or two ascending numbers; None where nothing is stated."""
        key, value = self.take(name, "number or pair of numbers")
        if value is None:
            return None
        items = value if isinstance(value, list) and len(value) == 2 else [value, value]
        first, second = (_as_number(item) for item in items)
        ascending = first is not None and second is not None and (first < second or not isinstance(value, list))
        if first is None or second is None or not ascending or not (key.admits(first) and key.admits(second)):
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return first, second

    def day(self, name: str) -> date | None:
        """Return a date."""
        key, value = self.take(name, "date")
        if value is not None and (not isinstance(value, date) or isinstance(value, datetime)):
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return value

    def clock(self, name: str) -> str | None:
        """Return a time of day as ``HH:MM``, however it is written: with or without quotes, a day or seconds."""
        key, value = self.take(name, "time")
        if value is None:
            return None
        if isinstance(value, time | datetime):
            return value.strftime("%H:%M")
        found = _CLOCK.fullmatch(value.strip()) if isinstance(value, str) else None
        if found is None:
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return f"{int(found[1]):02d}:{found[2]}"

    def unit(self, name: str) -> Unit | None:
        """Return a unit of the quantities that the key's description allows."""
        key, value = self.take(name, "unit")
        if value is None:
            return None
        try:
            unit = parse_gap_unit(as_text(value)) if key.choices == (GAP,) else parse_unit(as_text(value))
        except UnitError as error:
            self.note(name, error.found, error.remedy)
            return None
        kind = GAP if unit.quantity == GAP else "vibration" if unit.is_vibration else ELECTRICAL
        if kind not in key.choices:
            self.note(name, shown(value), f"give {expected(key)}")
            return None
        return unit

    def choice(self, name: str) -> str:
        """Return one of the words that the key may be, or its default; empty without one."""
        key, value = self.take(name, "choice")
        if value is None or value not in key.choices:
            if value is not None:
                self.note(name, shown(value), one_of(as_text(value), key.choices, most=None))
            return str(key.default or "")
        return str(value)

    def flag(self, name: str) -> bool:
        """Return true or false, or the key's default."""
        key, value = self.take(name, "true or false")
        if value is not None and not isinstance(value, bool):
            self.note(name, shown(value), f"give {expected(key)}")
        return value if isinstance(value, bool) else bool(key.default)

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a list of texts, each once; empty where there is none."""
        key, value = self.take(name, "list of texts")
        if value is None:
            return ()
        if key.single and isinstance(value, str):
            value = [value]
        if not isinstance(value, list) or not all(isinstance(item, str) and item for item in value):
            self.note(name, shown(value), f"give {expected(key)}")
            return ()
        return tuple(dict.fromkeys(value))

    def table(self, name: str) -> TomlTable | None:
        """Return a sub-table, merged from its layers; None where there is none."""
        key, value = self.take(name, "table")
        return None if value is None else self._below(name, value, key)

    def tables_by_name(self, name: str) -> Iterator[tuple[str, TomlTable]]:
        """Yield the sub-tables that a person has named, with their names."""
        key, value = self.take(name, "tables by name")
        if value is None:
            return
        if not isinstance(value, dict):
            self.note(name, shown(value), "give a table")
            return
        inner = TomlTable(
            KeyTable(heading="", says="", keys=(), each=key.table), self._layers_below(name), self.problems
        )
        yield from inner.each()

    def each(self) -> Iterator[tuple[str, TomlTable]]:
        """Yield the tables behind keys that a person has chosen, with those keys."""
        keys = self.keys.each
        assert keys is not None, f"{self.keys.heading} has no keys of a person's choice"
        for name, item in self.values.items():
            if isinstance(item, dict):
                yield name, TomlTable(keys, self._layers_below(name), self.problems)
            else:
                self.note(name, shown(item), "give a table")

    def tables(self, name: str) -> list[TomlTable]:
        """Return an array of tables."""
        key, value = self.take(name, "list of tables")
        place = self.place(name)
        if value is None:
            return []
        if key.single and isinstance(value, dict):
            return [TomlTable(_described(key), (place.below(name),), self.problems)]
        if not isinstance(value, list):
            wanted = expected(key) if key.example else f"tables headed [[{place.prefix}{name}]]"
            self.note(name, shown(value), f"give {wanted}")
            return []
        found = []
        for number, item in enumerate(value, start=1):
            if isinstance(item, dict):
                layer = Layer(file=place.file, prefix=f"{place.prefix}{name}[{number}].", values=item)
                found.append(TomlTable(_described(key), (layer,), self.problems))
            else:
                self.note(f"{name}[{number}]", shown(item), "give a table")
        return found

    def check_all(self) -> None:
        """Note what is wrong with any key of this table and of those below it."""
        for key in self.keys.keys:
            if key.type == "table":
                inner = self.table(key.name)
                tables = [] if inner is None else [inner]
            elif key.type == "list of tables":
                tables = self.tables(key.name)
            elif key.type == "tables by name":
                tables = [table for _, table in self.tables_by_name(key.name)]
            else:
                tables = []
                self.read(key.name)
            for table in tables:
                table.check_all()
        self.finish()

    def finish(self) -> None:
        """Note every key that is not described, and what is amiss with two keys of which one is wanted."""
        self.note_unknown()
        self.note_alternatives()

    def note_unknown(self) -> None:
        """Note every key that is not described, with the nearest known one and all that there are."""
        for layer in self.layers:
            for key in layer.values:
                if key not in self.keys.names:
                    found, remedy = f"the unknown key {shown(key)}", one_of(str(key), self.keys.names, most=None)
                    column = layer.prefix + str(key)
                    self.problems.append(Problem(file=layer.file, column=column, found=found, remedy=remedy))

    def note_alternatives(self) -> None:
        """Note two keys that say the same, where both are given, or neither and one of them is required."""
        for first, second, required in self._alternatives():
            given = [name for name in (first, second) if name in self.values]
            if len(given) == 2 or (required and not given):
                found = f"both {first} and {second}" if given else "nothing"
                self.note(first, found, f"give one of {first} and {second}")

    def _alternatives(self) -> Iterator[tuple[str, str, bool]]:
        """Yield the pairs of keys that say the same, and whether one of them is required; each pair once."""
        seen: set[str] = set()
        for key in self.keys.keys:
            if key.instead_of is not None and key.name not in seen:
                seen |= {key.name, key.instead_of}
                yield key.name, key.instead_of, key.required

    def _below(self, name: str, value: Any, key: Key) -> TomlTable:
        if not isinstance(value, dict):
            self.note(name, shown(value), f"give a table such as {key.example}" if key.example else "give a table")
        layers = self._layers_below(name)
        return TomlTable(_described(key), layers[-1:] if key.whole else layers, self.problems)

    def _layers_below(self, name: str) -> tuple[Layer, ...]:
        return tuple(layer.below(name) for layer in self.layers if name in layer.values)


def _described(key: Key) -> KeyTable:
    assert key.table is not None, f"the table of '{key.name}' is not described"
    return key.table


def _as_number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if number == 0.0 or SMALLEST <= abs(number) <= LARGEST else None  # NaN compares False


def expected(key: Key) -> str:
    """Say what a key wants, to stand behind "give"."""
    kind = "table" if key.type == "tables by name" else key.type
    said = {
        "text": f"a text in quotes of 1 to {key.longest} characters",
        "number": f"a number{key.bounds}",
        "whole number": f"a whole number{key.bounds}",
        "number or pair of numbers": f"a number{key.bounds}, or two ascending ones in square brackets",
        "pair of numbers": f"two ascending numbers{key.bounds} in square brackets",
        "date": "a date such as 2026-05-19, without quotes",
        "time": "a time of day such as 08:30",
        "unit": _expected_unit(key),
        "list of tables": f"a list such as {key.example}" if key.example else f"a [[{key.name}]] table",
        "true or false": "true or false, without quotes",
        "list of texts": f"a list of {key.of}, such as {key.example}",
    }
    return said.get(key.type, f"a {kind} [{key.name}]")


def _expected_unit(key: Key) -> str:
    if key.choices == ("vibration",):
        return "a vibration unit with its detector, such as 'mm/s pk'"
    if key.choices == (GAP,):
        return "a length without a detector, such as 'mm'"
    if key.choices == (ELECTRICAL,):
        return "an electrical unit with its detector, such as 'mV pk' or 'mA dc'"
    return "a unit with its detector, such as 'm/s2 pk' or 'mV pk'"
