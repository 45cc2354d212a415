"""How electrical health is shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.relay.electrical import ElectricalResult, ItemRead
from vibcal_nb.display.card.card_parts import Quantity, symmetric
from vibcal_nb.display.relay.electrical_plots import SHOWS, draw_electrical, electrical_axes, electrical_height
from vibcal_nb.display.relay.service_words import service_remarks
from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.findings import Finding, Wording, failures_first, is_against
from vibcal_nb.display.writing.names import capital, listed
from vibcal_nb.display.writing.numbers import with_uncertainty
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import FAILING


def _value(item: ItemRead) -> str:
    return f"{with_uncertainty(item.value, item.expanded)} {item.unit}"


def _limit(item: ItemRead) -> str:
    return "" if item.decision is None else symmetric(item.decision, unit=item.unit)


def _findings(result: ElectricalResult) -> Iterator[Finding]:
    for item in result.items:
        allowed = f" ({_limit(item)} allowed)" if item.decision is not None else ", without limits"
        yield is_against(item.decision), f"{capital(item.row.item)} reads {_value(item)}{allowed}"


def _words(result: ElectricalResult) -> Wording:
    gaps = tuple(f"{capital(item)} was not read" for item in result.unread)
    return Wording(
        findings=failures_first([*_findings(result)]), gaps=gaps, remarks=tuple(service_remarks(result.case))
    )


def _sentence(result: ElectricalResult) -> str:
    failing = [item for item in result.items if item.decision is not None and item.decision.verdict in FAILING]
    if failing:
        return listed([f"{item.row.item} reads {_value(item)}, {_limit(item)} allowed" for item in failing])
    if result.gates:
        return result.gates[0].found
    if result.unread:
        return f"{listed(list(result.unread))} not read"
    return f"{listed([item.row.item for item in result.items])} as allowed"


def _quantities(result: ElectricalResult) -> tuple[Quantity, ...]:
    read = [
        Quantity(
            name=item.row.item,
            value=_value(item),
            limit=_limit(item),
            decision=item.decision,
            state="" if item.decision is not None else "no limits",
        )
        for item in result.items
    ]
    unread = [Quantity(name=item, value="", limit="", decision=None, why="not read") for item in result.unread]
    return (*read, *unread)


def _summary(result: ElectricalResult) -> Table:
    return Table(
        caption=f"Electrical health at rest, from {result.case.table_file}",
        headings=("row", "item", "value", "allowed", "note"),
        rows=tuple(
            Row(
                cells=(str(item.row.row), item.row.item, _value(item), _limit(item), item.row.note or ""),
                verdict=None if item.decision is None else item.decision.verdict,
            )
            for item in result.items
        ),
        text_columns=(1, 4),
        note="U holds the last digit and the gain of the widest readout that the visit names.",
    )


def _columns(result: ElectricalResult) -> Mapping[str, Sequence[Any]]:
    return {
        "row": [item.row.row for item in result.items],
        "item": [item.row.item for item in result.items],
        "value": [item.value for item in result.items],
        "unit": [item.unit for item in result.items],
    }


def _next(result: ElectricalResult) -> Iterable[str]:
    if result.verdict in FAILING:
        yield "find the cause before anything is shaken: connectors, cable, moisture, supply"


VIEW = View(
    words=_words,
    sentence=_sentence,
    quantities=_quantities,
    summary=_summary,
    columns=_columns,
    points=lambda result: (_summary(result),),
    not_shown=lambda _: ("the uncertainty of an insulation or capacitance meter that the visit does not describe",),
    drawing=Drawing(axes=electrical_axes, draw=draw_electrical, shows=SHOWS, height=electrical_height),
    next_steps=_next,
)
