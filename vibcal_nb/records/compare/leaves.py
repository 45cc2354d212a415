"""Every number and word of a result by what it is of, so that two results can be held side by side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_SUFFIXES = ("_pct", "_hz", "_years", "_ms", "_deg", "_db", "_um", "")
_NAMING = ("frequency_hz", "quantity", "rotor", "set_point", "name", "test", "from", "to", "visit", "gate")
"""Members that tell an item of a list from its neighbours, in the order in which they are said."""
_TOLD_BY = frozenset({*_NAMING, "row", "k", "effective_degrees_of_freedom"})
_READINGS = "points"
"""Readings are told by their order: what was applied may be what was corrected."""
_WITH_U_OF_KIND = frozenset(
    {
        "sensitivity",
        "reference_sensitivity",
        "average_sensitivity",
        "true_level",
        "estimate",
        "deviation_pct",
        "response_pct",
        "change_pct",
        "error",
    }
)
"""Numbers whose U stands beside them as ``expanded_uncertainty``, of no other name."""


@dataclass(frozen=True, kw_only=True)
class Leaf:
    """A number, word, truth value or None of a result; ``expanded``: the U stated beside a number, or None."""

    value: float | str | bool | None
    expanded: float | None = None

    @property
    def is_number(self) -> bool:
        """Whether it is a number."""
        return is_number(self.value)


def leaves(value: Any, where: str = "") -> Iterator[tuple[str, Leaf]]:
    """Yield what a result holds, each by what it is of: "at 50 Hz, reading 3, deviation, %"."""
    if isinstance(value, Mapping):
        for key, member in value.items():
            if key in _TOLD_BY or "expanded_uncertainty" in key:
                continue
            if key == _READINGS and isinstance(member, list):
                for number, reading in enumerate(member, start=1):
                    yield from leaves(reading, _joined(where, f"reading {number}"))
            elif isinstance(member, Mapping | list):
                yield from leaves(member, _joined(where, _words(key)))
            else:
                yield _joined(where, _words(key)), Leaf(value=member, expanded=_expanded(value, key))
    elif isinstance(value, list):
        for label, item in _labelled(value):
            name = f"{where} {label}".strip()
            if isinstance(item, Mapping | list):
                yield from leaves(item, name)
            else:
                yield name, Leaf(value=item)


def _joined(where: str, name: str) -> str:
    return f"{where}, {name}" if where else name


def _labelled(items: Sequence[Any]) -> Iterator[tuple[str, Any]]:
    """Yield items with what tells them apart; those that nothing tells apart are numbered."""
    seen: dict[str, int] = {}
    for number, item in enumerate(items, start=1):
        label = _label(item) or str(number)
        seen[label] = seen.get(label, 0) + 1
        yield (label if seen[label] == 1 else f"{label} ({seen[label]})"), item


def _label(item: Any) -> str:
    if not isinstance(item, Mapping):
        return ""
    return " ".join(_said(name, item[name]) for name in _NAMING if item.get(name) not in (None, ""))


def _said(name: str, value: Any) -> str:
    text = " ".join(map(str, value)) if isinstance(value, list) else f"{value:g}" if is_number(value) else str(value)
    if name == "frequency_hz":
        return f"at {text} Hz"
    return f"{name} {text}" if name in ("from", "to") else text


def _expanded(members: Mapping[str, Any], key: str) -> float | None:
    """Return the U that stands beside a number: of its own name, or of its kind."""
    if not is_number(members[key]):
        return None
    suffix = next(ending for ending in _SUFFIXES if key.endswith(ending))
    stem = key.removesuffix(suffix)
    names = [f"{stem}_expanded_uncertainty{suffix}"]
    if key in _WITH_U_OF_KIND:
        names.append(f"expanded_uncertainty{suffix}")
    for name in names:
        found = members.get(name)
        if is_number(found):
            return float(found)  # type: ignore[arg-type]  # is_number says that it is one
    return None


def _words(key: str) -> str:
    for suffix, unit in (("_pct", ", %"), ("_hz", ", Hz"), ("_ms", ", ms"), ("_deg", ", °"), ("_db", ", dB")):
        if key.endswith(suffix):
            return key.removesuffix(suffix).replace("_", " ") + unit
    return key.replace("_", " ")


def is_number(value: Any) -> bool:
    """Whether a member of JSON is a number."""
    return isinstance(value, int | float) and not isinstance(value, bool)
