"""The entry of a result in the results file, which the record carries too."""

from __future__ import annotations

from typing import Any, TypedDict

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.records.quantities.gate_entries import GateEntry, gate_entries
from vibcal_nb.records.quantities.summary import Summary, summarise


class ResultEntry(TypedDict):
    """One entry of ``results.json``: who, what, verdict, numbers."""

    channel: str
    """Tag of the channel."""
    analysis: str
    """Name of the analysis."""
    condition: str
    """``as-found`` or ``as-left``."""
    verdict: str
    """``pass``, ``conditional pass``, ``not verified``, ``conditional fail`` or ``fail``."""
    statement: str
    """The verdict in words: findings, what was not verified, remarks, the rule."""
    quantities: Any
    """The numbers of the analysis, under keys of its own."""
    undetermined: dict[str, str]
    """Why a quantity is null, by its name."""
    gates: list[GateEntry]
    """What kept a pass from being said."""
    summary: Summary
    """What of it is needed when it stands among thousands."""


def result_entry(result: Result) -> ResultEntry:
    """Return the entry of a result: who, what, verdict, statement, quantities, why some are null, and a summary."""
    case, analysis = result.case, analysis_named(result.case.test)
    found = analysis.quantities(result)
    return ResultEntry(
        channel=case.channel.tag,
        analysis=case.test,
        condition=case.condition,
        verdict=result.verdict,
        statement=compose_statement(result),
        quantities=found,
        undetermined=dict(analysis.undetermined(result, found)),
        gates=gate_entries(result.gates),
        summary=summarise(result),
    )
