"""How the votes of a group are shown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from vibcal_nb.analysis.relay.voting import VotingResult
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.relay.service_words import service_remarks
from vibcal_nb.display.relay.voting_plots import SHOWS, draw_voting, voting_axes, voting_height
from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.names import listed, plural
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.metrology.conformity.decision import FAIL, NOT_VERIFIED, PASS

MOST = 8  # states named in a sentence


def state_text(in_trip: Sequence[str]) -> str:
    """Name a state by the channels in trip."""
    return listed(list(in_trip)) if in_trip else "none"


def _yes(acted: bool) -> str:
    return "acts" if acted else "does not act"


def _words(result: VotingResult) -> Wording:
    group = result.group
    wrong = [
        f"With {state_text(state.in_trip)} in trip the group {_yes(state.acted)}, where {group.logic} "
        f"{_yes(state.expected)} (row {state.row})"
        for state in result.wrong
    ]
    right = [f"{plural(len(result.states) - len(wrong), 'state')} tried as {group.logic} has it"]
    gaps = () if not result.undecided else (f"Not tried: {_listed_states(result.undecided)} in trip",)
    rest = tuple(state for state in result.untried if state not in result.undecided)
    remarks = () if not rest else (f"Not tried, and decided by no single channel: {_listed_states(rest)} in trip",)
    return Wording(findings=(*wrong, *right), gaps=gaps, remarks=(*remarks, *service_remarks(result.case)))


def _listed_states(states: Sequence[tuple[str, ...]]) -> str:
    shown = "; ".join(" + ".join(state) or "none" for state in states[:MOST])
    return shown + (f"; and {len(states) - MOST} more" if len(states) > MOST else "")


def _sentence(result: VotingResult) -> str:
    if result.wrong:
        state = result.wrong[0]
        return f"with {state_text(state.in_trip)} in trip it {_yes(state.acted)}: that is not {result.group.logic}"
    if result.gates:
        return result.gates[0].found
    if result.undecided:
        return f"{plural(len(result.undecided), 'deciding state')} not tried"
    return f"votes {result.group.logic} in every state tried"


def _quantities(result: VotingResult) -> tuple[Quantity, ...]:
    tried = [
        Quantity(
            name=f"{state_text(state.in_trip)} in trip",
            value=_yes(state.acted),
            limit=_yes(state.expected),
            decision=None,
            mark=PASS if state.agrees else FAIL,
        )
        for state in result.states
    ]
    untried = [
        Quantity(
            name=f"{state_text(state)} in trip",
            value="",
            limit=_yes(len(state) >= result.group.needed),
            decision=None,
            why="not tried",
            mark=NOT_VERIFIED,
        )
        for state in result.undecided
    ]
    return (*tried, *untried)


def _summary(result: VotingResult) -> Table:
    states = [
        Row(
            cells=(str(state.row), state_text(state.in_trip), _yes(state.acted), _yes(state.expected)),
            verdict=PASS if state.agrees else FAIL,
        )
        for state in result.states
    ]
    states += [
        Row(cells=("", state_text(state), "not tried", _yes(len(state) >= result.group.needed)))
        for state in result.untried
    ]
    return Table(
        caption=f"States of {result.group.tag}, {result.group.logic} of {', '.join(result.group.channels)}",
        headings=("row", "in trip", "group", result.group.logic),
        rows=tuple(states),
        text_columns=(1, 2, 3),
    )


def _columns(result: VotingResult) -> Mapping[str, Sequence[Any]]:
    return {
        "row": [state.row for state in result.states],
        "in trip": [" ".join(state.in_trip) for state in result.states],
        "acted": [state.acted for state in result.states],
        "expected": [state.expected for state in result.states],
    }


def _not_shown(result: VotingResult) -> tuple[str, ...]:
    return (
        "at which level each channel trips: that is the set points' record",
        f"how {result.group.logic} is degraded where a channel is inhibited or faulty: the site's logic states it",
    )


def _next(result: VotingResult) -> Iterable[str]:
    if result.wrong:
        yield "treat the group as one that does not protect as stated until the cause is found"
    if result.undecided:
        yield f"try {_listed_states(result.undecided)} in trip"


VIEW = View(
    words=_words,
    sentence=_sentence,
    quantities=_quantities,
    summary=_summary,
    columns=_columns,
    points=lambda result: (_summary(result),),
    not_shown=_not_shown,
    drawing=Drawing(axes=voting_axes, draw=draw_voting, shows=SHOWS, height=voting_height),
    next_steps=_next,
    shows_relays=lambda _: True,
    basis=lambda result: f"Logic {result.group.logic}: the group acts where {result.group.needed} or more are in trip",
    rule=lambda result: f"The group acts where {result.group.needed} or more of its channels are in trip.",
)
