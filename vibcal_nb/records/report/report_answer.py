"""The answer on a report's first page: the verdict as found and as left in a sentence each, and what to do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.display.card.card import card_of
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.model.names import CHANNEL_VERDICT
from vibcal_nb.records.report.sealed_result import SealedResult


def chip(verdict: str) -> dict[str, Any]:
    """Return a verdict as the layout sets it: word, colour, filled or hollow."""
    look = VERDICT_LOOKS[verdict]
    return {"word": verdict_text(verdict), "colour": look.colour, "filled": look.filled}


def report_answer(items: Sequence[SealedResult]) -> dict[str, Any]:
    """Return the answer: that of the whole channel where the records have it, else that of each test."""
    whole = [item for item in items if item.analysis == CHANNEL_VERDICT]
    if whole:
        lines = [_line(spoken(item.condition), item.verdict, _reason(item)) for item in whole]
        steps = dict.fromkeys(step for item in whole for step in item.entry["quantities"]["next_steps"])
    else:
        tests = [(item, card_of(item.result)) for item in items if item.result is not None]
        lines = [
            _line(f"{spoken(item.analysis)}, {spoken(item.condition)}", item.verdict, card.sentence)
            for item, card in tests
        ]
        steps = dict.fromkeys(step.rstrip(".") for _, card in tests for step in card.next_steps)
    return {"lines": lines, "steps": list(steps)}


def _line(of: str, verdict: str, sentence: str) -> dict[str, Any]:
    return {"of": of, "chip": chip(verdict), "sentence": sentence}


def _reason(item: SealedResult) -> str:
    """What the statement of a whole channel says first, after whose it is and its word."""
    first = first_sentence(str(item.entry["statement"]))
    _, found, reason = first.partition(f": {item.verdict}: ")
    return reason if found else ""


def first_sentence(statement: str) -> str:
    """What a statement says first after whose it is; the record holds the rest."""
    sentences = statement.rstrip(".").split(". ")
    return sentences[1] if len(sentences) > 1 else sentences[0]
