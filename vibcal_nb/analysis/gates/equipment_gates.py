"""Gates of the equipment: what the visit names, and what its certificates cover on the day.

ISO/IEC 17025:2017, 6.5 (results are traceable by calibrated equipment) and 6.4.8, 6.4.13 (its status on the day).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

import numpy as np

from vibcal_nb.analysis.gates.gate import LATER, NO_READOUT, NO_REFERENCE, OUTSIDE, RUN_OUT, Gate
from vibcal_nb.analysis.readings.chosen_reference import ChosenReference, reference_at
from vibcal_nb.arrays import FloatArray
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import DISPLACEMENT, Readout, Reference
from vibcal_nb.model.names import GAP_CURVE, MODULE_ALONE, READ_BY_ITSELF, STATIC_TESTS

MOST_NAMED = 5  # frequencies in one sentence


def equipment_gates(case: Case, frequency_hz: FloatArray) -> Iterator[Gate]:
    """Yield the gates of the equipment for readings at ``frequency_hz``, shape (n,), in the order of a record.

    Of the references each frequency's own counts. Of several readouts no reading tells which it was, so that all do.
    """
    static = case.test in STATIC_TESTS  # what is known at rest has no certificate over frequency
    frequencies = () if static else np.unique(frequency_hz)
    chosen = [(float(hz), reference_at(case.references, case.readings, float(hz))) for hz in frequencies]
    if not case.references:
        yield _no_reference(case)
    if not case.readouts and case.test not in READ_BY_ITSELF and not _read_by_the_reference(chosen):
        yield _no_readout(case)
    named = case.references if static else [found.reference for _, found in chosen if found is not None]
    used = dict.fromkeys(named)
    yield from certificate_gates((*used, *case.readouts), on=case.visit.date, grace_days=case.visit.decision.grace_days)
    yield from _outside(chosen)


def certificate_gates(items: Iterable[Reference | Readout], *, on: date, grace_days: float) -> Iterator[Gate]:
    """Yield the gates of certificates that do not hold on a day: run out, or of a later day."""
    for item in items:
        late = (on - item.due).days
        if on > item.due + timedelta(days=grace_days):
            yield Gate(
                gate=RUN_OUT,
                found=f"The certificate of {item.id} had run out on {item.due.isoformat()}, {_days(late)} before the "
                f"visit of {on.isoformat()}",
                remedy="have it calibrated and read again, or name the equipment whose certificate held on that day",
            )
        if item.calibrated > on:
            yield Gate(
                gate=LATER,
                found=f"{item.id} was calibrated on {item.calibrated.isoformat()}, after the visit of {on.isoformat()}",
                remedy="name the certificate that held on that day; a later one does not say what was so before it",
            )


def _days(count: int) -> str:
    return f"{count} day{'' if count == 1 else 's'}"


def _no_reference(case: Case) -> Gate:
    what = DISPLACEMENT if case.test == GAP_CURVE else "vibration"
    if case.test == MODULE_ALONE and case.channel.module is not None:
        what = case.channel.module.input_unit.quantity
    return Gate(
        gate=NO_REFERENCE,
        found=f"The visit names no reference for {what}",
        remedy="name the one that was used in visit.toml under equipment, and describe it in equipment.toml; "
        "until then every U leaves its part out",
    )


def _no_readout(case: Case) -> Gate:
    return Gate(
        gate=NO_READOUT,
        found="The visit names no readout",
        remedy="name the one that read the output in visit.toml under equipment; where the certificate of the "
        "reference covers that input, too, give it includes_readout = true in equipment.toml; "
        "until then every U leaves its part out",
    )


def _read_by_the_reference(chosen: list[tuple[float, ChosenReference | None]]) -> bool:
    return bool(chosen) and all(found is not None and found.reference.includes_readout for _, found in chosen)


def _outside(chosen: list[tuple[float, ChosenReference | None]]) -> Iterator[Gate]:
    beyond: dict[str, tuple[Reference, list[float]]] = {}
    for hz, found in chosen:
        if found is not None and not found.covers:
            beyond.setdefault(found.reference.id, (found.reference, []))[1].append(hz)
    for reference, frequencies in beyond.values():
        listed = ", ".join(f"{hz:g}" for hz in frequencies[:MOST_NAMED])
        listed += " ..." if len(frequencies) > MOST_NAMED else ""
        ranges = " and ".join(_joined(reference))
        yield Gate(
            gate=OUTSIDE,
            found=f"Readings at {listed} Hz lie outside the certificate of {reference.id}, which covers {ranges}",
            remedy="name a reference that covers them, or exclude them with the reason",
        )


def _joined(reference: Reference) -> Iterator[str]:
    """The stretches of frequency that the ranges of a certificate cover together."""
    start = end = None
    for band in reference.uncertainty:
        if end is not None and band.from_hz > end:
            yield f"{start:g} to {end:g} Hz"
            start = None
        start, end = (band.from_hz if start is None else start), band.to_hz
    yield f"{start:g} to {end:g} Hz"
