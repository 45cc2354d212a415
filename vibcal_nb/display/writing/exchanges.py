"""What was exchanged, in words: the part with both items."""

from __future__ import annotations

from vibcal_nb.analysis.drift.observations import Break
from vibcal_nb.display.writing.names import listed
from vibcal_nb.model.items import Exchange
from vibcal_nb.units import as_printed


def exchange_text(exchange: Exchange) -> str:
    """Write one exchange: ``sensor S-1041 by S-2207``."""
    return f"{exchange.part} {exchange.before} by {exchange.after}"


def break_text(why: Break) -> str:
    """Say in a clause why two states are not of the same thing."""
    if why.exchanges:
        return f"exchanged {listed([exchange_text(item) for item in why.exchanges])}"
    assert why.restated is not None  # a break has one of the two
    before, after = map(as_printed, why.restated)
    return f"nominal sensitivity restated from {before} to {after}"
