"""What stands beside a verdict so that nobody takes it for more: what it leaves out, how large its uncertainty is."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.gates.left_out import LeftOut, listed_rows
from vibcal_nb.analysis.gates.uncertainty_share import UncertaintyShare, largest_share
from vibcal_nb.analysis.result import Result
from vibcal_nb.display.writing.names import capital, plural, spoken
from vibcal_nb.display.writing.numbers import chance, fixed


def word_left_out(result: Result) -> Iterator[str]:
    """Say what the verdict leaves out, and what it would be with that; of a whole channel, test by test."""
    for item in result.left_out:
        of = "" if item.test == result.case.test else f"{capital(spoken(item.test))}: "
        if item.excluded:
            yield f"{of}{_excluded(item)}"
        if item.given_up:
            count, rows = plural(len(item.given_up), "planned row"), listed_rows(item.given_up)
            yield f"{of}{count} {'was' if len(item.given_up) == 1 else 'were'} given up, with the reason ({rows})"


def _excluded(item: LeftOut) -> str:
    are, them = ("is", "it") if len(item.excluded) == 1 else ("are", "them")
    text = f"{len(item.excluded)} of {plural(item.readings, 'reading')} {are} excluded ({listed_rows(item.excluded)})"
    then = "the same" if item.verdict_with == item.verdict else item.verdict_with
    return f"{text}; with {them} the verdict would be {then}"


def word_share(result: Result) -> Iterator[str]:
    """State the largest share that U takes of a tolerance, from a third on, with the risk of a wrong pass."""
    found = largest_share(result.judged())
    if found is not None and found.is_worth_a_word:
        yield share_sentence(found)


def share_sentence(found: UncertaintyShare) -> str:
    """Say which uncertainty takes how much of its tolerance, and what that means for a pass."""
    ratio = found.test_uncertainty_ratio
    text = f"U of the {found.name} is {found.U:.2g} %, {100.0 * found.share:.0f} % of its tolerance"
    if ratio is not None:
        text += f" (test uncertainty ratio {fixed(ratio, decimals=1)})"
    if found.risk is not None:
        text += f"; that its pass is wrong has a probability of {chance(found.risk)}"
    return text
