"""Explanations of a channel's readings as tables: how likely, how large, and what to measure next."""

from __future__ import annotations

from collections.abc import Sequence

from vibcal_nb.analysis.faults.explanation import FaultExplanations
from vibcal_nb.analysis.faults.next_measurement import Suggestion
from vibcal_nb.display.faults.fault_sentences import leaves, share
from vibcal_nb.display.faults.fault_sizes import sizes
from vibcal_nb.display.writing.numbers import NONE, frequency
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.names import SENSOR_ALONE

SHOWN = 6


def ranking_table(found: FaultExplanations) -> Table:
    """The likeliest explanations with their weights, sizes, and what the readings cannot tell from them."""
    rows = [
        Row(
            cells=(
                item.name,
                share(item.weight),
                leaves(found, item),
                sizes(found, item) or NONE,
                ", ".join(item.alike) or NONE,
            )
        )
        for item in found.explanations[:SHOWN]
    ]
    note = (
        "Weights are probabilities among the faults known here, under equal expectation of every fault, one half for a "
        "healthy channel; they add up to one. A weight says nothing of faults that are not known here. The worst "
        "remainder is that of the reading that the explanation leaves the most of. Sizes and remainders with U (k = 2)."
    )
    if found.poor:
        note += " Not even the likeliest explanation fits the readings: none of these may be the truth."
    if found.slips:
        note += " All of it holds for the readings as they were probably meant: ask about the rows first."
    headings = (
        "explanation",
        "weight among the faults known here",
        "worst remainder",
        "size",
        "these readings cannot tell it from",
    )
    return Table(
        caption="What explains the readings", headings=headings, rows=tuple(rows), text_columns=(0, 2, 3, 4), note=note
    )


def suggestions_table(found: FaultExplanations, items: Sequence[Suggestion]) -> Table:
    """What to measure or check next, in words, and what each explanation would have it read."""
    rows = [Row(cells=(_in_words(found, item), _would_read(item))) for item in items]
    return Table(
        caption="What to measure or check next",
        headings=("next", "what it would read, output over nominal"),
        rows=tuple(rows),
        text_columns=(0, 1),
        note="Those that separate the explanations best by expected information, the readings first.",
    )


def _in_words(found: FaultExplanations, item: Suggestion) -> str:
    if item.check is not None:
        return item.check
    channel = found.readings.channel
    unit = channel.sensor.input_unit if item.test == SENSOR_ALONE and channel.sensor else channel.input_unit
    coming = ", coming down from above" if item.falling else ""
    return f"read {item.test} at {frequency(item.frequency_hz or 0.0)}, {item.level:.3g} {unit.shown}{coming}"


def _would_read(item: Suggestion) -> str:
    return "; ".join(f"{name}: {100.0 * value:.1f} %" for name, value in item.would_read) or NONE
