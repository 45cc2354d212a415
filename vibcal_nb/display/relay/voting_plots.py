"""Figure of votes: each state as a row of channels in trip, and what the group did beside what its logic does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.relay.voting import VotingResult
from vibcal_nb.display.drawing.axes_grid import axes_beside
from vibcal_nb.display.drawing.marks import Mark, draw_marks, verdict_mark
from vibcal_nb.display.drawing.plot_parts import Axes, explain
from vibcal_nb.display.style import GREY, INK, VERDICT_LOOKS, verdict_text
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.metrology.conformity.decision import FAIL, PASS

SHOWS = "Each state that was tried, the channels in trip, and what the group did."
_EACH, _FRAME = 0.26, 1.0  # inches
_IN, _OUT = Mark("s", INK, size=8.0), Mark("s", GREY, filled=False, size=8.0)


def voting_height(result: VotingResult) -> float:
    """Return the height of the figure, in inches."""
    return _FRAME + _EACH * len(result.states)


def voting_axes(_: VotingResult, figure: Any) -> tuple[Axes, ...]:
    """Return one plot on an empty figure."""
    return axes_beside(figure, widths=(1.0,), top=38.0, bottom=28.0, left=60.0, right=150.0)


def draw_voting(result: VotingResult, axes: Sequence[Axes], *, speed_axis: bool = False) -> None:
    """Draw a row a state that was tried, a column a channel, and the group in the last one."""
    (ax,) = axes
    channels = result.group.channels
    last = len(channels)
    for place, state in enumerate(result.states):
        for number, tag in enumerate(channels):
            draw_marks(ax, [number], [place], _IN if tag in state.in_trip else _OUT)
        draw_marks(ax, [last], [place], verdict_mark(PASS if state.agrees else FAIL))
        words = "acts" if state.acted else "does not act"
        words += "" if state.agrees else f"; {result.group.logic} {'acts' if state.expected else 'does not'}"
        ax.text(last + 0.25, place, words, va="center", fontsize=8.5)
    ax.set(xlim=(-0.5, last + 0.2), ylim=(len(result.states) - 0.4, -0.6))
    ax.set_xticks(range(last + 1), [*channels, result.group.tag])
    ax.set_yticks(range(len(result.states)), [f"row {state.row}" for state in result.states])
    ax.grid(visible=False)
    ax.set_title(spoken(result.case.condition))
    ax.set_title(verdict_text(result.verdict), loc="right", color=VERDICT_LOOKS[result.verdict].colour)
    explain(ax, "black square: in trip, empty: not", "last column filled: as the logic has it, hollow: not")
