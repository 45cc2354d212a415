"""What a person changed while exploring, step by step: undo, redo, back to the record. It knows no screen.

A reading that the file leaves out stays out until it is taken back by name and with a reason: no toggle does it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Stand:
    """Where an exploration stands.

    ``values`` are the controls' by name. ``left_out`` gives the reason of each row that is not used, whoever left it
    out; ``taken_back`` the reason why a row is used all the same that the file leaves out.
    """

    values: Mapping[str, Any]
    left_out: Mapping[int, str]
    taken_back: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Exploration:
    """The stands so far: ``record`` is where it began, ``steps`` all stands up to the newest, ``at`` the one shown.

    Every action returns another exploration. Actions that share a ``stroke`` (one drag of a limit) are one step.
    """

    record: Stand
    steps: tuple[Stand, ...]
    at: int = 0
    stroke: str = field(default="", compare=False)

    @classmethod
    def begun(cls, record: Stand) -> Exploration:
        """Return an exploration that stands at the record."""
        return cls(record=record, steps=(record,))

    @property
    def stand(self) -> Stand:
        """Where it stands."""
        return self.steps[self.at]

    @property
    def is_record(self) -> bool:
        """Whether it stands where the record does."""
        return self.stand == self.record

    @property
    def can_undo(self) -> bool:
        """Whether there is a step back."""
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        """Whether there is a step forward."""
        return self.at < len(self.steps) - 1

    def set(self, name: str, value: Any, *, stroke: str = "") -> Exploration:
        """Give a control another value. Raises ``KeyError`` for a control that there is not."""
        if name not in self.record.values:
            raise KeyError(name)
        return self._to(replace(self.stand, values={**self.stand.values, name: value}), stroke=stroke)

    def leave_out(self, row: int, reason: str) -> Exploration:
        """Leave a reading out, or give another reason why it is; of one that the file leaves out the reason stays."""
        filed = self.record.left_out.get(row)
        out = {**self.stand.left_out, row: reason if filed is None else filed}
        return self._to(replace(self.stand, left_out=dict(sorted(out.items())), taken_back=_without(self._back, row)))

    def take_back(self, row: int, reason: str = "") -> Exploration:
        """Use a reading again. One that the file leaves out is used with a reason only: without one nothing changes."""
        if row not in self.stand.left_out:
            return self
        if row not in self.record.left_out:
            return self._to(replace(self.stand, left_out=_without(self.stand.left_out, row)))
        if not reason.strip():
            return self
        back = dict(sorted({**self._back, row: reason.strip()}.items()))
        return self._to(replace(self.stand, left_out=_without(self.stand.left_out, row), taken_back=back))

    def undo(self) -> Exploration:
        """Go a step back."""
        return replace(self, at=max(self.at - 1, 0), stroke="")

    def redo(self) -> Exploration:
        """Go a step forward again."""
        return replace(self, at=min(self.at + 1, len(self.steps) - 1), stroke="")

    def to_record(self) -> Exploration:
        """Go back to the record, as a step of its own that can be undone."""
        return self._to(self.record)

    def to_stand(self, stand: Stand) -> Exploration:
        """Go to a stand that was kept, as a step of its own."""
        return self._to(stand)

    @property
    def _back(self) -> Mapping[int, str]:
        return self.stand.taken_back

    def _to(self, stand: Stand, *, stroke: str = "") -> Exploration:
        same_stroke = bool(stroke) and stroke == self.stroke and self.at > 0
        before = self.steps[: self.at if same_stroke else self.at + 1]
        if stand == before[-1]:
            return replace(self, steps=before if same_stroke else self.steps, at=len(before) - 1, stroke="")
        return replace(self, steps=(*before, stand), at=len(before), stroke=stroke)


def _without(mapping: Mapping[int, str], row: int) -> dict[int, str]:
    return {key: value for key, value in mapping.items() if key != row}
