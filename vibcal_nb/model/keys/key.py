"""One key of an input file, or one column of the reading table: its type, bounds, default, and what it says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

KeyType = Literal[
    "text",
    "number",
    "whole number",
    "pair of numbers",
    "number or pair of numbers",
    "date",
    "time",
    "unit",
    "choice",
    "true or false",
    "list of texts",
    "table",
    "list of tables",
    "tables by name",
    "column by heading",
]
KEY_TYPES: tuple[KeyType, ...] = get_args(KeyType)

LONGEST_TEXT = 2000
LONGEST_NAME = 64


@dataclass(frozen=True, kw_only=True)
class Key:
    """A key and what may stand behind it.

    Attributes
    ----------
    name
        As it is written in the file.
    type
        What the value is; of ``table`` and its kin, ``table`` says what stands in it.
    says
        One sentence: what the value means.
    required
        Whether the file is refused without it.
    unit
        Unit of a number, in words or as a symbol; None where it has none.
    of
        What a list of texts lists.
    default
        What holds where the key is left out; None where nothing does.
    choices
        The words that a ``choice`` may be, or units that a ``unit`` may be of: ``vibration``, ``electrical``,
        ``gap``.
    above, least, most
        Bounds of a number: greater than, at least, at most.
    longest
        Characters of a text at most.
    table
        The keys of the table, of each table of a list, or of each named table.
    named
        What a person names the tables by, as written in headings: ``TAG``, ``NAME``.
    whole
        Whether a table that is stated twice (by a kind and by its channel) is replaced as a whole, not key by key.
    single
        Whether one text, or one table, may stand without the brackets of a list.
    instead_of
        The key that says the same otherwise; one of the two is given, never both.
    example
        A value as it would be written.
    """

    name: str
    type: KeyType
    says: str
    required: bool = False
    unit: str | None = None
    of: str = "texts in quotes"
    default: object = None
    choices: tuple[str, ...] = ()
    above: float | None = None
    least: float | None = None
    most: float | None = None
    longest: int = LONGEST_TEXT
    table: KeyTable | None = None
    named: str | None = None
    whole: bool = False
    single: bool = False
    instead_of: str | None = None
    example: str | None = None

    def admits(self, number: float) -> bool:
        """Whether a number keeps to the bounds."""
        low = (self.above is not None and number <= self.above) or (self.least is not None and number < self.least)
        return not low and not (self.most is not None and number > self.most)

    @property
    def bounds(self) -> str:
        """The bounds in words, to stand behind "a number"; empty without any."""
        words = []
        if self.above is not None:
            words.append(f"above {self.above:g}")
        if self.least is not None:
            words.append(f"of {self.least:g} or more")
        if self.most is not None:
            words.append(f"up to {self.most:g}")
        return (" " + " and ".join(words)) if words else ""


@dataclass(frozen=True, kw_only=True)
class KeyTable:
    """The keys of one kind of table, in the order in which a person would write them.

    Where a person chooses the keys themselves, ``each`` says what stands in the table behind each of them, and
    ``named`` what it is named by.
    """

    heading: str
    says: str
    keys: tuple[Key, ...]
    each: KeyTable | None = None
    named: str | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The keys' names."""
        return tuple(key.name for key in self.keys)

    def __getitem__(self, name: str) -> Key:
        """Return the key of this name. Raises ``KeyError``: nothing reads a key that is not described."""
        for key in self.keys:
            if key.name == name:
                return key
        raise KeyError(f"{self.heading} describes no key '{name}'")

    def without(self, *names: str, heading: str, says: str) -> KeyTable:
        """Return a table of another heading that lacks some of the keys, and requires none of the others.

        Nor does it require keys of the tables below, which merge with those of another layer; the tables of a list do
        not merge, and stay as they are.
        """
        kept = tuple(_optional(key) for key in self.keys if key.name not in names)
        return KeyTable(heading=heading, says=says, keys=kept)


def _optional(key: Key) -> Key:
    below = key.table
    if key.type == "table" and below is not None:
        below = below.without(heading=below.heading, says=below.says)
    return replace(key, required=False, table=below)
