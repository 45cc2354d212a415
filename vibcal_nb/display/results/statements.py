"""The verdict of a result in words: why it is so, what was seen besides, and the one sentence of the whole."""

from __future__ import annotations

from vibcal_nb.analysis.gates.gate import NOT_BACK
from vibcal_nb.analysis.result import Result
from vibcal_nb.display.results.reservations import word_drift, word_hidden, word_left_out, word_rule, word_share
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.names import subject


def compose_statement(result: Result) -> str:
    """Compose the verdict sentence of a result: the word, then the findings and gaps, then the rule."""
    said = word_result(result)
    parts = [f"{subject(result.case)}: {result.verdict}", *said.findings, *said.gaps, *said.remarks]
    rule = view_of(result).basis(result)
    return ". ".join(part.rstrip(".") for part in parts) + f". {rule}."


def word_result(result: Result) -> Wording:
    """Say what a result found, what it leaves open, and what else is to be seen in it.

    Protection that is not proved back in service comes first of all. Gates come first among what is left open; what the
    verdict leaves out and a large uncertainty first among the rest.
    """
    said = view_of(result).words(result)
    first = tuple(gate.sentence for gate in result.gates if gate.gate == NOT_BACK)
    return Wording(
        findings=(*first, *said.findings),
        gaps=(*(gate.sentence for gate in result.gates if gate.gate != NOT_BACK), *said.gaps),
        remarks=(
            *word_rule(result),
            *word_left_out(result),
            *word_share(result),
            *word_hidden(result),
            *word_drift(result),
            *said.remarks,
        ),
    )
