"""A table of a TOML file, taken apart key by key; every problem is noted and none stops the reading."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable
from datetime import date, datetime
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.files.numbers_as_typed import LARGEST, SMALLEST
from vibcal_nb.problems import Problem, as_text, one_of, shown
from vibcal_nb.units import Unit, UnitError, parse_unit

MOST_BYTES = 5_000_000
LONGEST_NAME = 64
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
# tomllib's time grows with the square of the parts of a dotted key; a person writes three or four
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


class TomlTable:
    """One table: each method takes a key, notes what is wrong with its value, and returns it or a default."""

    def __init__(self, file: str, values: Any, problems: list[Problem], *, prefix: str = "") -> None:
        self.file, self.prefix, self.problems = file, prefix, problems
        self.values: dict[str, Any] = values if isinstance(values, dict) else {}
        self.known: list[str] = []
        if not isinstance(values, dict):
            self.note(prefix.rstrip("."), shown(values), "give a table", whole=True)

    def note(self, key: str, found: str, remedy: str, *, whole: bool = False) -> None:
        """Note a problem with a key of this table."""
        column = key if whole else self.prefix + key
        self.problems.append(Problem(file=self.file, column=column, found=found, remedy=remedy))

    def check_name(self, key: str) -> None:
        """Note a key that is no name which a person could read in a table: of its own choice, but on one line."""
        if not (key.strip() and key.isprintable() and len(key) <= LONGEST_NAME):
            self.note(key, f"the name {shown(key)}", f"give a name of 1 to {LONGEST_NAME} characters on one line")

    def take(self, key: str, *, required: bool, expected: str) -> Any:
        """Return the raw value, or None; a missing required key is noted."""
        self.known.append(key)
        if key not in self.values and required:
            self.note(key, "nothing", f"give {expected}")
        return self.values.get(key)

    def text(self, key: str, *, required: bool = True, default: str = "", longest: int = 2000) -> str:
        """Return a text; control characters are refused except line breaks."""
        value = self.take(key, required=required, expected="a text in quotes")
        if value is None:
            return default
        printable = isinstance(value, str) and all(c.isprintable() or c in "\n\t\r" for c in value)
        if not printable or len(value) > longest or (required and not value.strip()):
            self.note(key, shown(value), f"give a text in quotes of 1 to {longest} characters")
            return default
        return str(value)

    def optional_text(self, key: str) -> str | None:
        """Return a text, or None where there is none."""
        return self.text(key, required=False) or None

    def number(
        self,
        key: str,
        *,
        required: bool = True,
        above: float | None = None,
        least: float | None = None,
        most: float | None = None,
    ) -> float | None:
        """Return a finite number within bounds; None, with the problem noted, otherwise."""
        expected = "a number" + _bounds(above, least, most)
        value = self.take(key, required=required, expected=expected)
        return None if value is None else self.check_number(key, value, above=above, least=least, most=most)

    def check_number(
        self,
        key: str,
        value: Any,
        *,
        above: float | None = None,
        least: float | None = None,
        most: float | None = None,
    ) -> float | None:
        """Return ``value`` as a number within bounds, or note what is wrong."""
        number = _as_number(value)
        low = number is not None and ((above is not None and number <= above) or (least is not None and number < least))
        if number is None or low or (most is not None and number > most):
            self.note(key, shown(value), f"give a number{_bounds(above, least, most)}")
            return None
        return number

    def pair(self, key: str, *, above: float | None = None, required: bool = False) -> tuple[float, float] | None:
        """Return two ascending numbers."""
        expected = f"two ascending numbers{_bounds(above, None, None)} in square brackets"
        value = self.take(key, required=required, expected=expected)
        if value is None:
            return None
        numbers = [_as_number(item) for item in value] if isinstance(value, list) else []
        first, second = numbers if len(numbers) == 2 else (None, None)
        if first is None or second is None or first >= second or (above is not None and first <= above):
            self.note(key, shown(value), f"give {expected}")
            return None
        return first, second

    def day(self, key: str) -> date | None:
        """Return a date."""
        value = self.take(key, required=True, expected="a date such as 2026-05-19, without quotes")
        if value is None:
            return None
        if not isinstance(value, date) or isinstance(value, datetime):
            self.note(key, shown(value), "give a date such as 2026-05-19, without quotes")
            return None
        return value

    def unit(self, key: str, accept: Callable[[Unit], bool], expected: str) -> Unit | None:
        """Return a unit that ``accept`` accepts."""
        value = self.take(key, required=True, expected=expected)
        if value is None:
            return None
        try:
            unit = parse_unit(as_text(value))
        except UnitError as error:
            self.note(key, error.found, error.remedy)
            return None
        if not accept(unit):
            self.note(key, shown(value), f"give {expected}")
            return None
        return unit

    def choice(self, key: str, options: Iterable[str], *, default: str) -> str:
        """Return one of the options."""
        options = list(options)
        value = self.take(key, required=False, expected="")
        if value is None:
            return default
        if value not in options:
            self.note(key, shown(value), one_of(as_text(value), options))
            return default
        return str(value)

    def table(self, key: str, *, required: bool = False) -> TomlTable | None:
        """Return a sub-table."""
        value = self.take(key, required=required, expected=f"a table [{self.prefix}{key}]")
        if value is None:
            return None
        return TomlTable(self.file, value, self.problems, prefix=f"{self.prefix}{key}.")

    def tables(self, key: str) -> list[TomlTable]:
        """Return an array of tables."""
        value = self.take(key, required=False, expected="")
        if value is None:
            return []
        if not isinstance(value, list):
            self.note(key, shown(value), f"give tables headed [[{self.prefix}{key}]]")
            return []
        return [
            TomlTable(self.file, item, self.problems, prefix=f"{self.prefix}{key}[{number}].")
            for number, item in enumerate(value, start=1)
        ]

    def finish(self) -> None:
        """Note every key that nobody asked for, with the nearest known one."""
        for key in self.values:
            if key not in self.known:
                self.note(str(key), f"the unknown key {shown(key)}", one_of(str(key), self.known))


def _as_number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if number == 0.0 or SMALLEST <= abs(number) <= LARGEST else None  # NaN compares False


def _bounds(above: float | None, least: float | None, most: float | None) -> str:
    words = []
    if above is not None:
        words.append(f"above {above:g}")
    if least is not None:
        words.append(f"of {least:g} or more")
    if most is not None:
        words.append(f"up to {most:g}")
    return (" " + " and ".join(words)) if words else ""
