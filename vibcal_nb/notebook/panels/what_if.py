"""What-if panels: a result under a person's finger, while exploring.

A panel works on copies of the case and is built only where a person can move it. A record holds one line in
its place, so that nobody takes an exploration for a verdict.
"""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.notebook.frame.opened import opened_folder
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.touch.explored import ResultSubject, what_if_of
from vibcal_nb.notebook.touch.panel import TouchPanel
from vibcal_nb.notebook.touch.widget import touch_widget


def explore(result: Result) -> None:
    """Show the what-if panel of a result; in a record, one line that says which limits were applied.

    What a person finds there is kept in the folder of the visit that the notebook opened.
    """

    def panel() -> Any:
        visit = opened_folder(channel=result.case.channel.tag, condition=result.case.condition)
        return touch_widget(TouchPanel(ResultSubject(result), visit=visit))

    limits = f"Limits applied: {applied_limits(result)}."
    show.widget(panel, otherwise=f"{limits} The what-if panel appears when the notebook is opened and run.")


def applied_limits(result: Result) -> str:
    """Say which limits and which rule a result was judged by."""
    return what_if_of(result.case).limits(result)
