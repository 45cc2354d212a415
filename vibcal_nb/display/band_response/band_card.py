"""What the card of a band response says: how it lies in one sentence, and each judged quantity."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.band_response.band_response import BandResponseResult, JudgedRequirement
from vibcal_nb.display.card.card_parts import Quantity, off, symmetric
from vibcal_nb.display.phase.phase_words import phase_failures, phase_quantities
from vibcal_nb.display.writing.names import listed, plural
from vibcal_nb.display.writing.numbers import frequency, number, percent_with_uncertainty
from vibcal_nb.metrology.conformity.decision import FAILING, NOT_VERIFIED, PASSING


def band_sentence(result: BandResponseResult) -> str:
    """Say in one plain sentence where the band lies."""
    failures = [
        *phase_failures(result.phase),
        *_flat_failure(result),
        *(_failure(item) for item in result.requirements if _fails(item)),
    ]
    if failures:
        more = len(failures) - 1
        return failures[0] + (f", and breaks {plural(more, 'further limit')}" if more else "")
    if result.verdict in FAILING:
        return "a reading lies outside its limits"
    if result.gates:
        return result.gates[0].found
    if result.verdict not in PASSING:
        return result.not_verified[0] if result.not_verified else "the band was not verified"
    band = result.specification
    flat = (
        f"flat within ± {band.flat_pct:g} % from {band.flat_hz[0]:g} to {frequency(band.flat_hz[1])}"
        if (band.flat_hz is not None and band.flat_pct is not None)
        else "within its limits"
    )
    corners = [frequency(float(f"{c.hz:.4g}")) for c in result.corners.values() if c.hz is not None]
    return f"{flat}; half power at {listed(corners)}" if corners else flat


def _flat_failure(result: BandResponseResult) -> Iterator[str]:
    worst = result.flat_worst
    if worst is not None and worst.value_pct is not None and worst.verdict in FAILING:
        yield f"reads {off(worst.value_pct - 100.0)} at {frequency(worst.reading.frequency_hz)}, in its flat part"


def _fails(item: JudgedRequirement) -> bool:
    return item.decision is not None and item.decision.verdict in FAILING


def _failure(item: JudgedRequirement) -> str:
    required, response = item.requirement, item.response.response_pct or 0.0
    low = response < required.min_pct
    return (
        f"leaves {number(response, digits=3)} % at {frequency(required.frequency_hz)}, where "
        f"{'at least' if low else 'at most'} {number(required.min_pct if low else required.max_pct, digits=3)} % "
        f"is allowed ({required.name})"
    )


def band_quantities(result: BandResponseResult) -> tuple[Quantity, ...]:
    """Return what was judged: the worst of the flat part, and each requirement, the phase."""
    return (*_flat(result), *(_required(item) for item in result.requirements), *phase_quantities(result.phase))


def _flat(result: BandResponseResult) -> Iterator[Quantity]:
    worst, band = result.flat_worst, result.specification
    if band.flat_pct is None or band.flat_hz is None:
        return
    name = f"flat part, {band.flat_hz[0]:g} to {frequency(band.flat_hz[1])}"
    limit = f"{100.0 - band.flat_pct:g} to {100.0 + band.flat_pct:g} %"
    if worst is None or worst.value_pct is None or worst.expanded is None:
        yield Quantity(name=name, value="", limit=limit, decision=None, why="no reading could be judged there")
        return
    shown = percent_with_uncertainty(worst.value_pct, worst.expanded, signed=False)
    at = frequency(worst.reading.frequency_hz)
    yield Quantity(name=f"{name}: worst, at {at}", value=shown, limit=limit, decision=worst.decision)


def _required(item: JudgedRequirement) -> Quantity:
    required, response = item.requirement, item.response
    name = f"{required.name}: response at {frequency(required.frequency_hz)}"
    limit = f"{number(required.min_pct, digits=3)} to {number(required.max_pct, digits=3)} %"
    if item.decision is None or response.response_pct is None or response.expanded is None:
        why = response.reason or NOT_VERIFIED
        return Quantity(name=name, value="", limit=limit, decision=None, why=why)
    shown = percent_with_uncertainty(response.response_pct, response.expanded, signed=False)
    return Quantity(name=name, value=shown, limit=limit or symmetric(item.decision), decision=item.decision)
