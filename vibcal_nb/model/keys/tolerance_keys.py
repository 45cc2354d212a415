"""The keys of a tolerance, in every form in which the trade writes it."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.tolerance import TOLERANCE_RULES


def tolerance_table(heading: str, unit: str) -> KeyTable:
    """Return the keys of a tolerance whose amount is in ``unit``."""
    return KeyTable(
        heading=heading,
        says="How far it may lie from the true level, to either side; several parts at once by a rule.",
        keys=(
            Key(
                name="reading_pct",
                type="number",
                says="A part of the level that is read.",
                unit="% of reading",
                above=0.0,
                most=100.0,
                example="5.0",
            ),
            Key(
                name="span_pct",
                type="number",
                says="A part of full_scale.",
                unit="% of span",
                above=0.0,
                most=100.0,
                example="1.0",
            ),
            Key(name="absolute", type="number", says="An amount.", unit=unit, above=0.0, example="0.2"),
            Key(
                name="rule",
                type="choice",
                says="Whether the sum of several parts counts, or the larger one; given where there are several.",
                choices=TOLERANCE_RULES,
                example='"sum"',
            ),
        ),
    )
