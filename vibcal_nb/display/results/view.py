"""How one kind of result is shown: its words, tables, drawing, what-if controls, and what it does not show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from vibcal_nb.analysis.readings.judged_point import JudgedPoint
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.table import Table
from vibcal_nb.metrology.conformity.decision import FAILING, DecisionRule, decision_rule_sentence
from vibcal_nb.metrology.uncertainty.budget import Budget
from vibcal_nb.model.case import Case


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """The figure of a kind of result.

    ``axes`` makes the axes it needs on an empty figure; ``draw`` draws a result into them, in that order. ``shows``
    begins the alternative text. ``height`` is in inches, of a figure 9 inches wide. ``columns`` says how many axes of a
    result stand side by side.
    """

    axes: Callable[[Any, Any], tuple[Any, ...]]
    draw: Callable[..., None]
    shows: str
    height: Callable[[Any], float]
    columns: Callable[[Any], int] = lambda _: 1


@dataclass(frozen=True, kw_only=True)
class Control:
    """A what-if control as data: a widget is made of it where a person explores.

    ``kind``: ``share`` (a percentage, or another number above zero, up to ``most`` in steps of ``step``), ``range``
    (two numbers in dB) or ``frequency`` (one of those that were read).
    """

    name: str
    label: str
    kind: str
    value: Any
    most: float = 0.0
    step: float = 0.1


@dataclass(frozen=True, kw_only=True)
class Grip:
    """Where the value of a control stands in the figure, so that it can be dragged there.

    ``pane`` counts the plots of the drawing; ``along`` is ``x`` or ``y``. The value v stands at ``base + per * v`` in
    the units of that axis. ``part`` says which of a pair of values it is.
    """

    control: str
    pane: int
    along: str
    per: float = 1.0
    base: float = 0.0
    part: int | None = None


def either_side(control: str, pane: int) -> tuple[Grip, Grip]:
    """Return the grips of a limit that holds to either side of zero."""
    return Grip(control=control, pane=pane, along="y"), Grip(control=control, pane=pane, along="y", per=-1.0)


def _no_grips(_: Any) -> tuple[Grip, ...]:
    return ()


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What a person may change of a kind of result, and how the case with it is analysed anew.

    ``limits`` says in words which limits a result was judged by; ``change`` puts the values of the controls into a
    case; ``grips`` says where the figure of a result shows them; ``ratios`` are the plots whose y, in %, can be read in
    dB as well.
    """

    limits: Callable[[Any], str]
    controls: Callable[[Any], tuple[Control, ...]]
    change: Callable[[Case, Mapping[str, Any]], Case]
    analyse: Callable[[Case], Any]
    grips: Callable[[Any], tuple[Grip, ...]] = _no_grips
    ratios: Callable[[Any], tuple[int, ...]] = lambda _: ()


def rule_in_short(rule: DecisionRule) -> str:
    """Name the decision rule in a few words."""
    if rule.r == 0.0:
        return "Rule: simple acceptance"
    width = "U" if rule.r == 1.0 else f"{rule.r:g} U"
    return f"Rule: guarded acceptance, guard band {width}"


def _no_tables(_: Any) -> tuple[Table, ...]:
    return ()


def _no_groups(_: Any) -> Iterator[tuple[str, Sequence[JudgedPoint]]]:
    return iter(())


def _nothing(_: Any) -> tuple[str, ...]:
    return ()


def _find_the_part(result: Any) -> Iterable[str]:
    """What a failed test asks for: it does not tell by itself which part is off."""
    if result.verdict in FAILING:
        yield "find which part is off: the record of the channel's verdict attributes it, the fault finding explains it"


def _no_budgets(_: Any) -> tuple[tuple[str, Budget], ...]:
    return ()


@dataclass(frozen=True, kw_only=True)
class View:
    """How one kind of result is shown; each member is a function of the result.

    On the card: ``sentence``, the answer in one plain sentence without its stop; ``quantities``, what was judged;
    ``next_steps``, what to do beyond what the gates ask for; ``basis``, what the verdict's word rests on, in few words.
    Below it: ``words`` (findings, gaps, remarks); ``summary``, its figures; ``columns``, what was made of each reading
    as numbers by heading with unit, and ``points``, the same as tables; ``together``, the points that share their
    common uncertainty, by where they were read; ``budgets`` in %, by where they are, with ``budget_of``, what they are
    of and in % of what; ``not_shown``, what a reader might assume beyond the gaps; ``rule``, the basis in a sentence;
    ``shows_relays``, whether relays were part of what was tested.
    """

    words: Callable[[Any], Wording]
    sentence: Callable[[Any], str]
    quantities: Callable[[Any], tuple[Quantity, ...]]
    summary: Callable[[Any], Table]
    columns: Callable[[Any], Mapping[str, Sequence[Any]]]
    points: Callable[[Any], tuple[Table, ...]] = _no_tables
    together: Callable[[Any], Iterator[tuple[str, Sequence[JudgedPoint]]]] = _no_groups
    not_shown: Callable[[Any], tuple[str, ...]] = _nothing
    budgets: Callable[[Any], tuple[tuple[str, Budget], ...]] = _no_budgets
    budget_of: tuple[str, str] = ("the sensitivity", "nominal")
    drawing: Drawing | None = None
    what_if: WhatIf | None = None
    next_steps: Callable[[Any], Iterable[str]] = _find_the_part
    basis: Callable[[Any], str] = lambda result: rule_in_short(result.rule)
    shows_relays: Callable[[Any], bool] = lambda _: False
    rule: Callable[[Any], str] = lambda result: decision_rule_sentence(result.rule)
