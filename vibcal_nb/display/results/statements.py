"""The verdict of a result in words: why it is so, what was seen besides, and the one sentence of the whole."""

from __future__ import annotations

from vibcal_nb.analysis.result import Result
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
    """Say what a result found, what it leaves open, and what else is to be seen in it."""
    return view_of(result).words(result)
