"""Every refusal is one family, and each is one sentence: where it stands, what was found, what to do."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

_LONGEST_SHOWN = 60
_MOST_LISTED = 200
_LONGEST_PART = 400
_LONGEST_REMEDY = 1000  # it may list every key of a table
_LONGEST_LINE = 1200


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One problem of an input file.

    ``row`` counts as a spreadsheet does (headings are row 1) and is None where rows mean nothing, as in
    a TOML file; ``column`` is then the key. ``found`` is a phrase (see `shown`), ``remedy`` what to do.
    """

    file: str
    row: int | None = None
    column: str | None = None
    found: str
    remedy: str

    @property
    def sentence(self) -> str:
        """The problem as one sentence, on one line, control characters escaped."""
        where = [self.file]
        if self.row is not None:
            where.append(f"row {self.row}")
        if self.column is not None:
            where.append(f"{'key' if self.row is None else 'column'} {_shortened(self.column)}")
        return on_one_line(
            f"{', '.join(where)}: found {_shortened(self.found)}; {_shortened(self.remedy, _LONGEST_REMEDY)}."
        )


def _shortened(text: str, most: int = _LONGEST_PART) -> str:
    """A name or a cell may be a megabyte; a sentence may not."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


class Refused(Exception):
    """The base of all that a person is told in a sentence in place of a result; its text is that sentence."""


class NotDone(Refused):
    """What could not be done although the input is right: a file, a program or a cluster is in the way."""


class InputRefused(Refused):
    """Input that cannot be used; ``problems`` holds every problem found, in the order of file and row.

    The text lists one sentence a line, at most 200 of them, and says how many more there are.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems, sorted by file and row."""
        ordered = sorted(dict.fromkeys(problems), key=lambda problem: (problem.file, problem.row or 0))
        self.problems = tuple(ordered)
        super().__init__(self.problems)

    def __str__(self) -> str:
        sentences = [problem.sentence for problem in self.problems[:_MOST_LISTED]]
        more = len(self.problems) - len(sentences)
        if more:
            sentences.append(f"... and {more} more {'problem' if more == 1 else 'problems'}, not listed here.")
        return "\n".join(sentences)


def shown(value: object) -> str:
    """Return ``value`` quoted for a sentence: long ones shortened, nothing as ``nothing``."""
    text = "" if value is None else as_text(value)
    if not text:
        return "nothing"
    if len(text) > _LONGEST_SHOWN:
        text = f"{text[: _LONGEST_SHOWN - 1]}…"
    return f"'{text}'"


def as_text(value: object) -> str:
    """Return a value as text, whatever it is."""
    try:
        return str(value)
    except (ValueError, RecursionError):  # Python writes out no number of more than 4300 digits, and no endless nest
        return "a number of thousands of digits" if isinstance(value, int) else "values nested too deeply or too long"


_HALF = re.compile("[\ud800-\udfff]")  # of a character, as UTF-16 writes one in two


def is_storable(text: str) -> bool:
    """Whether a file can hold the text: half a character, or a byte of a name that is no UTF-8, it cannot."""
    return text.isascii() or not _HALF.search(text)


def on_one_line(text: str) -> str:
    """Return a text that a terminal shows as it is: shortened where it is very long, control characters escaped."""
    return "".join(
        character if character.isprintable() else character.encode("unicode_escape").decode("ascii")
        for character in _shortened(text, _LONGEST_LINE)
    )


def in_words(error: BaseException) -> str:
    """Say what went wrong, for a person who did not write the program: of a file system's refusal, one sentence."""
    if isinstance(error, OSError):
        return f"{file_trouble(error)}."
    return str(error) or type(error).__name__


def file_trouble(error: OSError) -> str:
    """Say what a file system refused, as one sentence without its full stop: which file, why, what to do."""
    where = error.filename2 or error.filename  # of a file that takes another's place, the other one
    why = error.strerror or str(error) or type(error).__name__
    then = "; close it where it is open, or make it writable" if isinstance(error, PermissionError) else ""
    return on_one_line(f"{f'{as_text(where)}: ' if where else ''}{why}{then}")


def odd_letters(text: str) -> list[str]:
    """Name what in a text a reader takes for something else, by its name in Unicode and its place.

    That are letters of another script that look Latin beside Latin ones or digits, letters of double width, and
    characters that show nothing. Look-alikes as in Unicode Technical Standard 39 (table from memory, letters alone).
    """
    plain = any(character.isascii() and character.isalnum() for character in text)
    return [
        f"{unicodedata.name(character, f'U+{ord(character):04X}')} in place {place}"
        for place, character in enumerate(text, start=1)
        if _is_hidden(character) or _is_wide(character) or (plain and character in _LOOKS)
    ]


def looks(text: str) -> str:
    """Return what a text looks like: two texts that look alike give the same."""
    seen = "".join(character for character in unicodedata.normalize("NFKC", text) if not _is_hidden(character))
    return seen.translate(_LOOK_ALIKE).casefold()


def _is_hidden(character: str) -> bool:
    return unicodedata.category(character) in ("Cf", "Cc", "Zl", "Zp") and character not in "\t\n\r"


def _is_wide(character: str) -> bool:
    return unicodedata.name(character, "").startswith(("FULLWIDTH", "MATHEMATICAL", "IDEOGRAPHIC SPACE"))


_LATIN = "ABEKMHOPCTYXIJSaeopcyxijsABEZHIKMNOPTYXov"
_LOOKS = "АВЕКМНОРСТУХІЈЅаеорсухіјѕΑΒΕΖΗΙΚΜΝΟΡΤΥΧον"  # Cyrillic, Greek
_LOOK_ALIKE = str.maketrans(_LOOKS, _LATIN)


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name most like ``name``, or None where none is near; letter case counts little."""
    folded = {candidate.casefold(): candidate for candidate in known}
    matches = difflib.get_close_matches(name.casefold(), folded, n=1, cutoff=0.5)
    return folded[matches[0]] if matches else None


def one_of(name: str, known: Iterable[str], *, most: int | None = 12) -> str:
    """Say which of the ``known`` names to write in place of ``name``, the nearest one first, ``most`` of them listed.

    ``most`` None lists all: for names that the package itself gives, of which there are never thousands.
    """
    names = list(known)
    if not names:
        return "there is none to choose from"
    near = next((known for known in names if looks(known) == looks(name)), None) or nearest(name, names)
    odd = f" (it holds {', '.join(odd_letters(name)[:3])})" if near is not None and odd_letters(name) else ""
    shown_names = names[:most]
    more = len(names) - len(shown_names)
    listed = ", ".join(shown_names) + (f" and {more} more" if more else "")
    if near is None:
        return f"give one of {listed}"
    return f"did you mean '{near}'{odd}" + (f" (known: {listed})" if len(names) > 1 else "")


class NothingToPlan(Refused, LookupError):
    """A channel for which nothing can be planned; the text is one sentence."""


class NothingToAnalyse(Refused, LookupError):
    """A channel, test or condition of which a visit holds nothing; the text is one sentence."""


class ParameterError(Refused, ValueError):
    """A parameter that is unknown, missing or of the wrong type; the text is one sentence."""
