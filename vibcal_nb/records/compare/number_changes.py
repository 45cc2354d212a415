"""Numbers of two results beside one another, by what they are of, each change against its U."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from vibcal_nb.records.compare.leaves import Leaf, leaves
from vibcal_nb.records.perform.differences import SAME_WITHIN


@dataclass(frozen=True, kw_only=True)
class NumberChange:
    """One number in two results, in the unit of its name: ``what`` it is; None where a result has none.

    ``expanded`` is the expanded uncertainty U that the later result states of it, None where it states none.
    """

    what: str
    before: float | None
    after: float | None
    expanded: float | None = None

    @property
    def change(self) -> float | None:
        """The later number less the earlier; None where either is missing."""
        return None if self.before is None or self.after is None else self.after - self.before

    @property
    def against_u(self) -> float | None:
        """The change as a multiple of U; None where there is no change or no U."""
        return None if self.change is None or not self.expanded else self.change / self.expanded


def number_changes(before: Any, after: Any) -> tuple[list[NumberChange], int]:
    """Return the numbers that differ, the largest against their U first, and how many are the same in both.

    Two numbers are the same where they agree to 1e-6 of their size: results are rounded to eight digits.
    """
    old, new = _numbers(before), _numbers(after)
    changes, same = [], 0
    for what in {**old, **new}:
        (a, u_before), (b, u_after) = old.get(what, (None, None)), new.get(what, (None, None))
        if a is not None and b is not None and _same(a, b):
            same += 1
            continue
        changes.append(NumberChange(what=what, before=a, after=b, expanded=u_before if b is None else u_after))
    return sorted(changes, key=_rank), same


def word_changes(before: Any, after: Any) -> list[tuple[str, str, str]]:
    """Return the words of results that differ: what they are of, before, after."""
    old, new = dict(leaves(before)), dict(leaves(after))
    found = []
    for what in {**old, **new}:
        a, b = old.get(what, _NONE), new.get(what, _NONE)
        if a.value != b.value and not all(leaf.is_number or leaf.value is None for leaf in (a, b)):
            found.append((what, _word(a), _word(b)))
    return sorted(found, key=lambda item: of_reading(item[0]) is not None)


def grouped_words(changes: Iterable[tuple[str, str, str]]) -> Iterator[tuple[str, str, str]]:
    """Yield word changes, those that many readings have alike said once: "at 50 Hz, readings 1 to 28, verdict"."""
    groups: dict[tuple[str, str, str, str], list[int]] = {}
    for what, a, b in changes:
        place = of_reading(what)
        key = (what, "", a, b) if place is None else (place.before, place.measure, a, b)
        groups.setdefault(key, []).append(0 if place is None else place.number)
    for (before, measure, a, b), numbers in groups.items():
        yield (f"{before}{_readings(numbers)}, {measure}" if measure else before), a, b


def _readings(numbers: list[int]) -> str:
    if len(numbers) == 1:
        return f"reading {numbers[0]}"
    if numbers == list(range(numbers[0], numbers[0] + len(numbers))):
        return f"readings {numbers[0]} to {numbers[-1]}"
    return f"readings {', '.join(map(str, numbers))}"


@dataclass(frozen=True, kw_only=True)
class OfReading:
    """What a number is of, where it is of one reading: what stands ``before`` it, its ``number``, the ``measure``."""

    before: str
    number: int
    measure: str


_READING = re.compile(r"(?P<before>(?:.*, )?)reading (?P<number>\d+), (?P<measure>.+)")


def of_reading(what: str) -> OfReading | None:
    """Return which reading a number or word is of; None where it is of the whole."""
    match = _READING.fullmatch(what)
    if match is None:
        return None
    return OfReading(before=match["before"], number=int(match["number"]), measure=match["measure"])


_NONE = Leaf(value=None)


def _word(leaf: Leaf) -> str:
    return {None: "nothing", True: "yes", False: "no"}.get(leaf.value) or str(leaf.value)  # type: ignore[arg-type]


def _numbers(result: Any) -> dict[str, tuple[float, float | None]]:
    return {what: (float(leaf.value), leaf.expanded) for what, leaf in leaves(result) if leaf.is_number}  # type: ignore[arg-type]


def _rank(change: NumberChange) -> tuple[bool, bool, float]:
    """What is of the whole stands before what is of one reading."""
    against = change.against_u
    return of_reading(change.what) is not None, against is None, -abs(against or 0.0)


def _same(a: float, b: float) -> bool:
    return a == b or abs(a - b) <= SAME_WITHIN * max(abs(a), abs(b))
