"""The rows of one set point by approach: from which side the level came, and what the relay did at each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from vibcal_nb.metrology.switching.level_of_action import ActionBracket, ActionLevel, combine_approaches
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import RISING
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.model.relay.set_points import SetPoint
from vibcal_nb.units import convert

Held = tuple[float, SetPointRow]


@dataclass(frozen=True, kw_only=True, eq=False)
class Approaches:
    """What was held towards a set point: levels in the channel's input unit with their rows, those used.

    ``towards`` are those on the way on which it acts, ``back`` those on the other; ``sign`` is -1 of a set point that
    acts where the level falls.
    """

    rows: tuple[Held, ...]
    towards: tuple[Held, ...]
    back: tuple[Held, ...]
    sign: float
    action: ActionLevel | None
    release: ActionLevel | None

    @property
    def highest_not_acted(self) -> float | None:
        """The farthest level, on the way on which it acts, at which it had not acted; the lowest where it falls."""
        return _extreme((level for level, row in self.towards if not row.acted), self.sign)

    @property
    def lowest_acted(self) -> float | None:
        """The nearest level, on the way on which it acts, at which it had acted; the highest where it falls."""
        return _extreme((level for level, row in self.towards if row.acted), -self.sign)

    @property
    def rows_that_acted(self) -> tuple[SetPointRow, ...]:
        """The rows on the way on which it acts, at which it did."""
        return tuple(row for _, row in self.towards if row.acted)

    def why_no_action(self, unit: str) -> str:
        """Say why no level of action is told."""
        not_acted, acted = self.highest_not_acted, self.lowest_acted
        if not_acted is None and acted is None:
            return "no level was held on the way on which it acts"
        if acted is None:
            return f"the relay did not act up to {not_acted:.4g} {unit}"
        return f"the relay acted at every level held, from {acted:.4g} {unit} on"


def _extreme(levels: Iterable[float], sign: float) -> float | None:
    found = [sign * level for level in levels]
    return sign * max(found) if found else None


def read_approaches(case: Case, set_point: SetPoint, rows: Sequence[SetPointRow]) -> Approaches:
    """Sort rows by approach and combine them. A row that states no direction is on the way on which it acts."""
    unit = case.channel.input_unit
    held = tuple(
        (float(convert(row.applied, row.applied_unit, unit, frequency_hz=row.frequency_hz)), row) for row in rows
    )
    own = set_point.direction
    towards = tuple(item for item in held if (item[1].direction or own) == own)
    back = tuple(item for item in held if (item[1].direction or own) != own)
    sign = 1.0 if own == RISING else -1.0
    return Approaches(
        rows=held,
        towards=towards,
        back=back,
        sign=sign,
        action=_combined(towards, sign),
        release=None if set_point.latching else _combined(back, sign),
    )


def _combined(held: Sequence[Held], sign: float) -> ActionLevel | None:
    brackets = list(_brackets(held, sign))
    return combine_approaches(brackets, sign=sign) if brackets else None


def _brackets(held: Sequence[Held], sign: float) -> Iterator[ActionBracket]:
    """Yield the bracket of each approach; an approach with one side alone closes in on that of the others."""
    groups = dict.fromkeys(row.repeat for _, row in held)
    sides = []
    for repeat in groups:
        own = [(level, row) for level, row in held if row.repeat == repeat]
        not_acted = _extreme((level for level, row in own if not row.acted), sign)
        acted = _extreme((level for level, row in own if row.acted), -sign)
        sides.append((not_acted, acted))
    whole = [(a, b) for a, b in sides if a is not None and b is not None]
    if not whole:
        not_acted = _extreme((a for a, _ in sides if a is not None), sign)
        acted = _extreme((b for _, b in sides if b is not None), -sign)
        whole = [(not_acted, acted)] if not_acted is not None and acted is not None else []
    yield from (ActionBracket(not_acted=a, acted=b) for a, b in whole)
