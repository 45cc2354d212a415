"""Tables of drift: the history, the changes between visits, the trend, and the proposed intervals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from vibcal_nb.analysis.drift.drift import DriftResult, QuantityDrift
from vibcal_nb.analysis.drift.interval import IntervalProposal
from vibcal_nb.analysis.drift.normalized_error import Change
from vibcal_nb.display.drift.drift_statements import month
from vibcal_nb.display.writing.exchanges import break_text
from vibcal_nb.display.writing.names import capital, listed, spoken
from vibcal_nb.display.writing.numbers import NONE, fixed, percent, true_minus
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.over_time.trend import Trend
from vibcal_nb.model.names import AS_FOUND


def history_table(result: DriftResult) -> Table:
    """Every visit's deviation from nominal, quantity by quantity, with its expanded uncertainty (k = 2)."""
    states = sorted({(o.date, o.condition, o.visit) for q in result.quantities for o in q.observations})
    rows = []
    for date, condition, visit in states:
        cells = [date.isoformat(), spoken(condition)]
        for item in result.quantities:
            found = [o for o in item.observations if (o.date, o.condition, o.visit) == (date, condition, visit)]
            text = (
                f"{percent(found[0].deviation_pct)} ± {percent(2.0 * found[0].u_pct, signed=False)}" if found else NONE
            )
            cells.append(text)
        rows.append(Row(cells=tuple(cells)))
    return Table(
        caption="Deviation from nominal at each visit",
        headings=("visit", "condition", *(item.quantity for item in result.quantities)),
        rows=tuple(rows),
        text_columns=(0, 1),
        note="± twice the standard uncertainty of the deviation, the reference's included. An as-left line says that "
        "something was adjusted or renewed.",
    )


def changes_table(result: DriftResult) -> Table:
    """Each as-found held against the state before it, and each adjustment."""
    changes = [(item, change) for item in result.quantities for change in _in_time(item)]
    further = tuple(of for of in _FURTHER if any(of.text(change) for _, change in changes))
    coverage = {change.expanded.probability for _, change in changes}
    return Table(
        caption="From one state to the next",
        headings=("quantity", "from", "to", "change", "U", "Eₙ", *(of.heading for of in further)),
        rows=tuple(_change_row(item, change, further) for item, change in changes),
        text_columns=(0, 1, 2, *range(6, 6 + len(further))),
        note="The change is in % of nominal; U is of the change alone, "
        f"{' and '.join(f'{100.0 * p:g} %' for p in sorted(coverage)) or '95 %'}. |Eₙ| above 1: more than the "
        "uncertainties explain. What both states share has cancelled and is not in U; another certificate is "
        "another error and is in U.",
    )


@dataclass(frozen=True)
class _Further:
    """A column that stands where it has something to say of any change."""

    heading: str
    text: Callable[[Change], str]


_FURTHER = (
    _Further("more than U explains", lambda change: "yes" if change.significant else ""),
    _Further(
        "shared and removed",
        lambda change: ", ".join(dict.fromkeys(source.split(",")[0] for source in change.removed)),
    ),
    _Further("no drift, because", lambda change: "" if change.why_broken is None else break_text(change.why_broken)),
)


def _in_time(item: QuantityDrift) -> list[Change]:
    steps = (*item.changes, *item.adjustments, *item.breaks)
    return sorted(steps, key=lambda c: (c.after.date, c.after.condition != AS_FOUND))


def _change_row(item: QuantityDrift, change: Change, further: Sequence[_Further]) -> Row:
    before, after = change.before, change.after
    cells = (
        item.quantity,
        f"{before.date.isoformat()} {spoken(before.condition)}",
        f"{after.date.isoformat()} {spoken(after.condition)}",
        percent(change.change_pct),
        percent(change.expanded.U, signed=False),
        fixed(change.E_n, signed=True),
        *(of.text(change) or NONE for of in further),
    )
    return Row(cells=cells)


def trend_table(result: DriftResult) -> Table:
    """Rate, test of steadiness, and the date until which the channel is probably within its tolerance."""
    level = f"{100.0 * result.settings.conformity_level:g} %"
    return Table(
        caption="Trend over the visits",
        headings=(
            "quantity",
            "visits",
            "rate a year",
            "U",
            "chi-squared (limit)",
            "steady",
            f"below {level} from",
            "that date, 95 %",
        ),
        rows=tuple(_trend_row(item) for item in result.quantities),
        text_columns=(0, 5, 6, 7),
        note="One rate since the last exchange of an item; a level of its own for each stretch between adjustments. "
        f"'Below {level} from': when the "
        "probability of being within the tolerance falls below that, if the drift goes on as it was. Its interval is "
        "that of this date, as the visits leave the trend open, and none for when the tolerance is left. No date where "
        "the drift is not steady or the quantity has no tolerance.",
    )


def _trend_row(item: QuantityDrift) -> Row:
    trend, date = item.trend, item.date
    if trend is None:
        return Row(cells=(item.quantity, str(item.visits_since_exchange), NONE, NONE, NONE, NONE, NONE, NONE))
    steady = {True: "yes", False: "no", None: "cannot be tested"}[trend.steady]
    when = interval = NONE
    if date is not None:
        when = month(item, date.years, date.horizon_years)
        interval = " to ".join(month(item, end, date.horizon_years) for end in date.interval_years)
    rate, U = percent(trend.slope), percent(1.96 * trend.u_slope, signed=False)
    return Row(
        cells=(item.quantity, str(item.visits_since_exchange), rate, U, _chi_squared(trend), steady, when, interval)
    )


def _chi_squared(trend: Trend) -> str:
    limit = NONE if trend.chi_squared_limit is None else f"{trend.chi_squared_limit:.2f}"
    return f"{trend.chi_squared:.2f} ({limit})"


def intervals_table(result: DriftResult) -> Table:
    """What each interval method proposes and why, a method's shortest first.

    Of what it says the same of several quantities, there is one row.
    """
    proposals = sorted(_proposals(result), key=lambda pair: (_METHODS.index(pair[1].method), _months(pair[1])))
    alike: dict[tuple[str, ...], list[str]] = {}
    for of, proposal in proposals:
        months = NONE if proposal.months is None else f"{proposal.months:.0f}"
        said = (proposal.method, months, true_minus(proposal.reason), proposal.caution or "")
        alike.setdefault(said, []).append(of)
    steps = result.settings.steps
    cautions = any(caution for *_, caution in alike)
    return Table(
        caption=f"Proposed intervals (now {steps.current_months:g} months)",
        headings=("method", "of", "months", "because", *(("caution",) if cautions else ())),
        rows=tuple(
            Row(cells=(method, listed(of), months, reason, *((caution or NONE,) if cautions else ())))
            for (method, months, reason, caution), of in alike.items()
        ),
        text_columns=(0, 1, 3, 4),
        note=f"Steps of {steps.extend_months:g} months "
        f"longer and {steps.shorten_months:g} shorter, from {steps.shortest_months:g} to {steps.longest_months:g} "
        "months, are the user's choice: ILAC-G24:2022 / OIML D 10:2022 gives none. The methods need not agree; the "
        "shortest is the careful one.",
    )


_METHODS = ("staircase", "control chart", "reliability")


def _proposals(result: DriftResult) -> list[tuple[str, IntervalProposal]]:
    own = [(item.quantity, proposal) for item in result.quantities for proposal in item.proposals]
    return [*own, ("like channels", result.reliability_proposal)]


def _months(proposal: IntervalProposal) -> float:
    return float("inf") if proposal.months is None else proposal.months


def taken_for_granted(result: DriftResult) -> tuple[str, ...]:
    """Say what each interval method takes for granted, once, without the full stop."""
    return tuple(dict.fromkeys(f"{capital(item.method)}: {item.assumptions}" for _, item in _proposals(result)))


def first_of_each_method(table: Table) -> tuple[Table, Table]:
    """Return the table of intervals with each method's shortest alone, and one with all others."""
    methods = [row.cells[0] for row in table.rows]
    return table.parted([method not in methods[:place] for place, method in enumerate(methods)])


def furthest_changes(result: DriftResult, most: int) -> tuple[Table, Table]:
    """Return the table of changes with those most beyond their uncertainty alone, and one with all others.

    A step at which an item was exchanged or a reference recalibrated is no drift, and stands behind the others.
    """
    changes = [change for item in result.quantities for change in _in_time(item)]
    order = sorted(changes, key=lambda change: (change.why_broken is not None, -abs(change.E_n)))
    first = {id(change) for change in order[:most]}
    return changes_table(result).parted([id(change) in first for change in changes])
