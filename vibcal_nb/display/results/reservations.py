"""What stands beside a verdict so that nobody takes it for more: its rule, what it leaves out, how large its U is."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.analysis.gates.left_out import LeftOut, listed_rows
from vibcal_nb.analysis.gates.uncertainty_share import UncertaintyShare, largest_share
from vibcal_nb.analysis.result import Result
from vibcal_nb.display.writing.names import capital, listed, plural, spoken
from vibcal_nb.display.writing.numbers import chance, fixed, frequency, percent_with_uncertainty
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY
from vibcal_nb.model.visit import Decision


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


def word_hidden(result: Result) -> Iterator[str]:
    """Warn where a display hides the most of what is uncertain, or the scatter of repeats."""
    found = result.hidden_by_display()
    if found is None:
        return
    if found.rows:
        where = "" if len(found.rows) == 1 else f" in row {found.worst_row}"
        yield (
            f"In {plural(len(found.rows), 'reading')} ({listed_rows(found.rows)}) the last digit shown hides more than "
            f"all else that is uncertain, about ± {found.worst_pct:.2g} %{where}: read on a finer range, write all "
            "digits, or state display_step"
        )
    if found.repeats:
        yield (
            "The repeat readings differ by no more than the displays round: how they scatter is not known, and the "
            "judgement on settling stands"
        )


def word_drift(result: Result) -> Iterator[str]:
    """Say how the set-up drifted during the test, where it did so by more than the readings scatter."""
    found = result.set_up_drift()
    if found is not None and found.significant:
        change = percent_with_uncertainty(found.change_pct, found.expanded)
        yield (
            f"The set-up drifted: from the first to the last reading at {frequency(found.frequency_hz)} "
            f"(rows {found.first_row} and {found.last_row}) the sensitivity changed by {change}; each U holds half"
        )


def word_share(result: Result) -> Iterator[str]:
    """State the largest share that U takes of a tolerance, from a third on, with the risk of a wrong pass."""
    found = largest_share(result.judged())
    if found is not None and found.is_worth_a_word:
        yield share_sentence(found)


def share_sentence(found: UncertaintyShare) -> str:
    """Say which uncertainty takes how much of its tolerance, and what that means for a pass."""
    ratio = found.test_uncertainty_ratio
    unit = f" {found.unit}".rstrip()
    text = f"U of the {found.name} is {found.U:.2g}{unit}, {100.0 * found.share:.0f} % of its tolerance"
    if ratio is not None:
        text += f" (test uncertainty ratio {fixed(ratio, decimals=1)})"
    if found.risk is not None:
        text += f"; that its pass is wrong has a probability of {chance(found.risk)}"
    return text


def word_rule(result: Result) -> Iterator[str]:
    """Say what of the visit's decision rule lets more pass than is usual."""
    unusual = list(_unusual(result.case.visit.decision))
    if unusual:
        yield f"The decision rule of this visit lets more pass than is usual: {listed(unusual)}"


def _unusual(stated: Decision) -> Iterator[str]:
    """Usual are a guard band of U and U for 95 % (ILAC-G8:09/2019, 4.2.3), and a certificate that holds on the day."""
    if stated.rule == "guarded" and stated.r < 1.0:
        yield f"a guard band of {stated.r:g} U in place of U"
    if stated.coverage_probability < PROBABILITY:
        yield f"U for {100.0 * stated.coverage_probability:g} % in place of {100.0 * PROBABILITY:g} %"
    if stated.largest_u_share > 1.0:
        yield f"U of up to {100.0 * stated.largest_u_share:g} % of its tolerance in place of 100 %"
    if stated.grace_days > 0.0:
        yield f"certificates that count for {plural(round(stated.grace_days), 'day')} after they have run out"
