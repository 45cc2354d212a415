"""The matrix of a site, channel x test x verdict, for the page and the panel; what is found and in which order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from html import escape

from vibcal_nb.analysis.site.channel_state import ChannelState, Pair
from vibcal_nb.analysis.site.site_overview import SiteOverview
from vibcal_nb.display.site.site_links import linked, page_of
from vibcal_nb.display.site.site_style import SITE_STYLE, verdict_class
from vibcal_nb.display.site.site_tables import NOTHING_TO_DO, URGENCY_WORDS, counted, in_words
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.views import VIEWS
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.display.writing.numbers import NONE, fixed
from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.model.names import DRIFT

NUMBERS = ("margin, %", "last change, %", "Eₙ")
SHOWN = 60  # channels that stand open on the page at most; the others are folded

SORTS: dict[str, Callable[[ChannelState], tuple[object, ...]]] = {
    "urgency": lambda c: (not c.not_back, c.urgency, _margin(c), c.asset, c.channel),
    "margin": lambda c: (_margin(c), c.asset, c.channel),
    DRIFT: lambda c: (-abs(c.drift.E_n) if c.drift else 1.0, c.asset, c.channel),
    "last visit": lambda c: (c.last, c.asset, c.channel),
    "channel": lambda c: (c.asset, c.channel),
}


def _margin(state: ChannelState) -> float:
    return float("inf") if state.margin_pct is None else state.margin_pct


def select_channels(
    overview: SiteOverview,
    *,
    text: str = "",
    asset: str | None = None,
    urgency: int | None = None,
    sort: str = "urgency",
) -> list[ChannelState]:
    """Return the channels that match: ``text`` in tag, location or reason; of an asset; of an urgency; sorted."""
    wanted = text.casefold().strip()
    found = (
        state
        for state in overview.channels
        if (asset is None or state.asset == asset)
        and (urgency is None or state.urgency == urgency)
        and (not wanted or wanted in f"{state.channel} {state.location} {' '.join(state.reasons)}".casefold())
    )
    return sorted(found, key=SORTS[sort])


def headings(tests: Iterable[str]) -> tuple[str, ...]:
    """Return the headings with these tests among them."""
    return (
        "urgency",
        "asset",
        "channel",
        "verdict",
        "why",
        *(spoken(name) for name in tests),
        *NUMBERS,
        "last visit",
    )


def shown_tests(overview: SiteOverview) -> tuple[str, ...]:
    """Return the tests that some channel of the site has."""
    return tuple(name for name in VIEWS if any(name in state.tests for state in overview.channels))


def matrix_html(overview: SiteOverview, states: Sequence[ChannelState], *, shown: int | None = None) -> str:
    """Return the matrix as HTML: the first ``shown`` channels open, the rest folded by asset.

    Without ``shown`` those stand open for which there is something to do (60 at most); all where nothing is to do.
    """
    tests = shown_tests(overview)
    if shown is None:
        shown = min(SHOWN, sum(state.urgency < NOTHING_TO_DO for state in states) or len(states))
    rest: dict[str, list[ChannelState]] = {}
    for state in states[shown:]:
        rest.setdefault(state.asset, []).append(state)
    folded = "".join(
        f"<details><summary>{escape(asset)}: {counted(own)} more</summary>{_table(own, tests)}</details>"
        for asset, own in sorted(rest.items())
    )
    return _table(states[:shown], tests) + _KEY + folded


_KEY = f"<p>{', '.join(map(verdict_text, VERDICTS))}.</p>"


def _table(states: Iterable[ChannelState], tests: Sequence[str]) -> str:
    head = "".join(
        f"<th scope=col{' class=r' if name in NUMBERS else ''}>{escape(name)}</th>" for name in headings(tests)
    )
    body = "".join(_row(state, tests) for state in states)
    return (
        f'<style>{SITE_STYLE}</style><table class="site matrix"><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _row(state: ChannelState, tests: Sequence[str]) -> str:
    margin = NONE if state.margin_pct is None else fixed(state.margin_pct, decimals=0)
    change, normalized = (NONE, NONE)
    if state.drift is not None:
        change, normalized = (
            fixed(value, decimals=1, signed=True) for value in (state.drift.change_pct, state.drift.E_n)
        )
    tag = escape(state.channel) if page_of(state) is None else linked(state, state.channel)
    name = f'<td class=n title="{escape(state.location)}">{tag}</td>'
    whole = _verdict_cell(state.whole or (state.verdict, None))
    verdicts = "".join(_verdict_cell(state.tests.get(test), in_words=False) for test in tests)
    cells = "".join(f"<td class=r>{escape(text)}</td>" for text in (margin, change, normalized))
    cells += f"<td class=n>{state.last.isoformat()}</td>"
    why = escape("; ".join([*map(in_words, state.reasons), *_left_out(state)]) or NONE)
    word, asset = URGENCY_WORDS[state.urgency], escape(state.asset)
    return f"<tr><td>{word}</td><td class=n>{asset}</td>{name}{whole}<td class=w>{why}</td>{verdicts}{cells}</tr>"


def _left_out(state: ChannelState) -> Iterator[str]:
    """What the verdict leaves out: counted, and no reason by itself."""
    if state.excluded:
        yield f"{plural(state.excluded, 'reading')} excluded"
    if state.not_read:
        yield f"{plural(state.not_read, 'planned row')} not read"


def _verdict_cell(pair: Pair | None, *, in_words: bool = True) -> str:
    """The verdicts as found and as left, filled or hollow as each is; empty for a test that was not made.

    In the many columns of tests the mark stands alone; the table's key has its word.
    """
    words = [word for word in dict.fromkeys(pair or ()) if word is not None]
    if not words:
        return "<td></td>"
    marks = [
        f'<b class="cell {verdict_class(word)}" title="{word}">'
        f"{escape(verdict_text(word) if in_words else VERDICT_LOOKS[word].symbol)}</b>"
        for word in words
    ]
    return f"<td>{' → '.join(marks)}</td>"
