"""Contributions to the uncertainty that no certificate states: their defaults, and a visit's edits.

The default sizes are judgement for hand-held field work with a portable shaker and are marked so wherever a
budget is shown; a visit replaces any of them, or adds others, in its ``[contributions.NAME]`` tables.
"""

from __future__ import annotations

from dataclasses import dataclass

from vibcal_nb.analysis.budget_line import BudgetError, BudgetLine
from vibcal_nb.inputs.visit import Contribution, Visit

JUDGEMENT = "judgement, no source; edit it in visit.toml"
SETTLING = "settling and reading"
DRIFT_PCT_PER_YEAR = 0.2  # judgement: a reference accelerometer's long-term stability


@dataclass(frozen=True, kw_only=True)
class StatedContribution:
    """A budget line in % of the level, and whether it differs from one frequency to the next.

    What varies with frequency (transverse motion, mounting) is common to all levels at one frequency, so that
    more levels do not average it, but does not cancel in a response relative to another frequency.
    """

    line: BudgetLine
    varies_with_frequency: bool


def _default(name: str, value_pct: float, *, kind: str, varies: bool) -> tuple[Contribution, bool]:
    contribution = Contribution(name=name, value_pct=value_pct, distribution="rectangular", kind=kind, source=JUDGEMENT)
    return contribution, varies


_DEFAULTS = {
    "mounting": _default("mounting", 0.2, kind="common", varies=True),
    "cable strain": _default("cable strain", 0.1, kind="independent", varies=False),
    "transverse motion": _default("transverse motion", 0.3, kind="common", varies=True),
    "distortion": _default("distortion", 0.1, kind="common", varies=True),
    "temperature": _default("temperature", 0.2, kind="common", varies=False),
    SETTLING: (
        Contribution(
            name=SETTLING,
            value_pct=0.2,
            distribution="normal",
            kind="independent",
            source=JUDGEMENT + ", or repeat readings",
        ),
        False,
    ),
}
OF_THE_SHAKER = ("mounting", "cable strain", "transverse motion", "distortion")
_SHORT_NAMES = {"settling": SETTLING}


def state_contributions(visit: Visit, *, electrical: bool = False) -> tuple[StatedContribution, ...]:
    """Return the default contributions with the visit's edits, then the visit's own additions.

    Where the input is ``electrical``, what a shaker and a mounted sensor contribute is left out, edited or not.

    Raises ``BudgetError`` with a sentence where an edit cannot be used.
    """
    edits = {_name(item.name): item for item in visit.contributions}
    chosen = [
        StatedContribution(line=_line(edits.pop(name, default), name), varies_with_frequency=varies)
        for name, (default, varies) in _DEFAULTS.items()
    ]
    if electrical:
        chosen = [item for item in chosen if item.line.name not in OF_THE_SHAKER]
    added = [StatedContribution(line=_line(item, name), varies_with_frequency=False) for name, item in edits.items()]
    return tuple(chosen + added)


def _name(name: str) -> str:
    plain = name.replace("_", " ").replace("-", " ").strip().lower()
    return _SHORT_NAMES.get(plain, plain)


def _line(contribution: Contribution, name: str) -> BudgetLine:
    try:
        line = BudgetLine.from_input(contribution)
    except BudgetError as error:
        raise BudgetError(f"visit.toml, {error}") from error
    return BudgetLine(
        name=name,
        value=line.value,
        kind=line.kind,
        distribution=line.distribution,
        k=line.k,
        beta=line.beta,
        degrees_of_freedom=line.degrees_of_freedom,
        source=line.source or "visit.toml",
    )
