"""Certificates held against the planned day: which will have run out, and which will be valid."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from vibcal_nb.model.equipment import Equipment, Readout, Reference


def valid_on(equipment: Equipment, day: date) -> tuple[str, ...]:
    """Return the ids of the references and readouts whose certificate is valid on a day, in their order."""
    items: tuple[Reference | Readout, ...] = (*equipment.references, *equipment.readouts)
    return tuple(item.id for item in items if item.calibrated <= day <= item.due)


def latest_run_out(equipment: Equipment, day: date) -> tuple[Reference | Readout, ...]:
    """Return of each sort of which none will be valid on a day the one whose certificate ran out last."""
    sorts: dict[str, list[Reference | Readout]] = {}
    for reference in equipment.references:
        sorts.setdefault(reference.quantity, []).append(reference)
    for readout in equipment.readouts:
        sorts.setdefault("readout", []).append(readout)
    valid = valid_on(equipment, day)
    lacking = (items for items in sorts.values() if not any(item.id in valid for item in items))
    return tuple(max(items, key=lambda item: item.due) for items in lacking)


def certificate_remarks(items: Iterable[Reference | Readout], day: date) -> Iterator[str]:
    """Yield a sentence, without its full stop, for each item whose certificate is not valid on the planned day."""
    for item in items:
        if item.due < day:
            yield (
                f"The certificate of {item.id} runs out on {item.due.isoformat()}, before the planned day "
                f"{day.isoformat()}: have it calibrated, and name the new certificate in visit.toml"
            )
        elif item.calibrated > day:
            yield f"The certificate of {item.id} dates from {item.calibrated.isoformat()}, after the planned day"


def missing_remarks(references: Iterable[Reference], readouts: Iterable[Readout]) -> Iterator[str]:
    """Yield a sentence, without its full stop, where no reference or no readout is named: nothing could pass."""
    named = tuple(references)
    if not named:
        yield "No reference is named for the visit: name one with a valid certificate in visit.toml"
    if not tuple(readouts) and not any(item.includes_readout for item in named):
        yield "No readout is named for the visit: name one with a valid certificate in visit.toml"
