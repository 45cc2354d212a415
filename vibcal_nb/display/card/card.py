"""The answer of a result on one card: what was tested, the verdict in a plain sentence, what it rests on, what to do.

The same card stands in the notebook, on the page and in the report, first of all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from vibcal_nb.analysis.channel.reach_point import DEMONSTRATED, DOES_NOT_ACT, INFERRED, PROVED
from vibcal_nb.analysis.gates.gate import NOT_BACK
from vibcal_nb.analysis.result import Result
from vibcal_nb.display.card.card_parts import Quantity
from vibcal_nb.display.card.limit_bar import limit_bar
from vibcal_nb.display.style import verdict_text
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.metrology.conformity.decision import FAILING, PASSING

NOTHING = "Nothing."


@dataclass(frozen=True, kw_only=True)
class Card:
    """The answer: ``tested`` names channel, test and condition; ``place`` where and when; ``next_steps`` sentences."""

    tested: str
    place: str
    verdict: str
    sentence: str
    quantities: tuple[Quantity, ...]
    next_steps: tuple[str, ...]
    basis: str


def card_of(result: Result) -> Card:
    """Return the card of a result."""
    view, case = view_of(result), result.case
    where = [
        case.channel.location,
        f"{case.asset_name or ''} ({case.asset_tag})".strip(),
        f"visit of {case.visit.date}",
    ]
    return Card(
        tested=f"{case.channel.tag} · {spoken(case.test)} · {spoken(case.condition)}",
        place=" · ".join(text for text in where if text),
        verdict=result.verdict,
        sentence=_first(result, view.sentence(result)),
        quantities=view.quantities(result),
        next_steps=_next_steps(result, view.next_steps(result)),
        basis=view.basis(result),
    )


def _first(result: Result, sentence: str) -> str:
    """Protection that is not proved back in service stands before what the test says."""
    found = next((gate.found for gate in result.gates if gate.gate == NOT_BACK), None)
    return sentence if found in (None, sentence) else f"{found}; {sentence}"


def _next_steps(result: Result, own: Iterable[str]) -> tuple[str, ...]:
    """What a result asks for; a pass asks for nothing.

    Protection that is not proved back comes first. What keeps a pass from being said stands before the result's own
    steps, but behind those of a failure, and is not asked for twice.
    """
    steps = list(own)
    gates = [gate for gate in result.gates if not any(gate.remedy in step for step in steps)]
    first = [gate.remedy for gate in gates if gate.gate == NOT_BACK or result.verdict not in FAILING]
    last = [gate.remedy for gate in gates]
    asked = dict.fromkeys(map(_sentence, (*first, *steps, *last)))
    return tuple(asked) or ((NOTHING,) if result.verdict not in FAILING else ())


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def card_html(card: Card) -> str:
    """Return the card as HTML that needs no style sheet and no script; what would make it long is folded."""
    answer = f"{chip_html(card.verdict)} &nbsp;<b>{escape(card.sentence)}</b>"
    return (
        f'<div class="answer" style="{_FRAME}">'
        f'<h1 style="font-size: 1.25em; margin: 0">{escape(card.tested)}</h1>'
        f'<p style="margin: 0 0 0.5em 0">{escape(card.place)}</p>'
        f'<p style="font-size: 1.35em; margin: 0.3em 0">{answer}</p>'
        f"{_tables(card.quantities)}"
        f"{_steps(card.next_steps)}"
        f'<p style="margin: 0.5em 0 0 0; font-size: 0.9em">{escape(card.basis)}.</p></div>'
    )


_FRAME = "border: 2px solid #6a6a6a; border-radius: 8px; padding: 0.6em 1.2em; max-width: 60em"
_LEFT = "text-align: left; padding: 0.1em 0.8em 0.1em 0"
_RIGHT = "text-align: right; white-space: nowrap; padding: 0.1em 0.8em 0.1em 0"
_BARS = "allowed, value, U"
_HEADINGS = (
    ("quantity", _LEFT),
    ("value ± U", _RIGHT),
    ("limit", _RIGHT),
    (_BARS, _LEFT),
    ("verdict", _LEFT),
)


MOST_QUANTITIES = 8
"""Judged quantities that stand unfolded, those that fail among them first."""
MOST_STEPS = 5
"""What to do that stands unfolded; the most urgent comes first."""
_FEW = 1
"""So few more stand unfolded, too."""
_CALM = (*PASSING, DEMONSTRATED, INFERRED, PROVED)


def _steps(steps: tuple[str, ...]) -> str:
    if not steps:
        return ""
    most = len(steps) if len(steps) <= MOST_STEPS + _FEW else MOST_STEPS
    rest = f"<details><summary>{len(steps) - most} more to do</summary>{_list(steps[most:])}</details>"
    return f'<p style="margin: 0.6em 0 0 0"><b>What to do</b></p>{_list(steps[:most])}' + (rest if steps[most:] else "")


def _list(steps: tuple[str, ...]) -> str:
    items = "".join(f'<li style="margin: 0">{escape(step)}</li>' for step in steps)
    return f'<ul style="margin: 0">{items}</ul>'


def _tables(quantities: tuple[Quantity, ...]) -> str:
    """The judged quantities; of very many, those that are as they should be are folded first."""
    if len(quantities) <= MOST_QUANTITIES + _FEW:
        return _table(quantities)
    ranked = sorted(range(len(quantities)), key=lambda place: _calm(quantities[place]))
    first = set(ranked[:MOST_QUANTITIES])
    rest = tuple(item for place, item in enumerate(quantities) if place not in first)
    counts = Counter(item.state or item.verdict for item in rest)
    words = ", ".join(f"{count} {word}" for word, count in counts.items())
    return (
        f"{_table(tuple(quantities[place] for place in sorted(first)))}"
        f"<details><summary>{len(rest)} more: {escape(words)}</summary>{_table(rest)}</details>"
    )


def _calm(item: Quantity) -> int:
    """How little a quantity asks to be looked at: 0 a failure, 1 what is not known, 2 what is as it should be."""
    word = item.state or item.verdict
    return 0 if word in (*FAILING, DOES_NOT_ACT) else 2 if word in _CALM else 1


def _table(quantities: tuple[Quantity, ...]) -> str:
    if not quantities:
        return ""
    with_bars = any(item.decision is not None for item in quantities)
    shown = [(text, style) for text, style in _HEADINGS if with_bars or text != _BARS]
    head = "".join(f'<th scope="col" style="{style}">{text}</th>' for text, style in shown)
    rows = "".join(_row(item, with_bars) for item in quantities)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"


def _row(item: Quantity, with_bars: bool) -> str:
    bar = ("" if item.decision is None else limit_bar(item.decision), _LEFT)
    cells = (
        (escape(item.value or item.why), _RIGHT if item.value else _LEFT),
        (escape(item.limit), _RIGHT),
        *((bar,) if with_bars else ()),
        (escape(item.state) or chip_html(item.verdict), _LEFT),
    )
    name = f'<th scope="row" style="{_LEFT}; font-weight: normal">{escape(item.name)}</th>'
    row = "".join(f'<td style="{style}">{text}</td>' for text, style in cells)
    return f"<tr>{name}{row}</tr>"


def card_text(card: Card) -> str:
    """Return the card as plain text, for whatever shows no HTML."""
    lines = [card.tested, card.place, f"{verdict_text(card.verdict)}: {card.sentence}"]
    lines += [
        f"  {item.name}: {item.value or item.why}, limit {item.limit}: {item.state or verdict_text(item.verdict)}"
        for item in card.quantities
    ]
    return "\n".join([*lines, *(f"To do: {step}" for step in card.next_steps), f"{card.basis}."])
