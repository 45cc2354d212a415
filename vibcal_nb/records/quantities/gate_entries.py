"""The gates of a result as its entry in the results file has them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypedDict

from vibcal_nb.analysis.gates.gate import Gate


class GateEntry(TypedDict):
    """What kept a pass from being said."""

    gate: str
    """Its name."""
    sentence: str
    """What was found and what to do."""


def gate_entries(gates: Iterable[Gate]) -> list[GateEntry]:
    """Return an entry for each gate."""
    return [GateEntry(gate=gate.gate, sentence=gate.sentence) for gate in gates]
