"""What-if panels: limits, reference, detector, decision rule, coverage factor and excluded readings, while exploring.

A panel works on copies of the case and is built only where a person can move it. A record holds one line in
its place, so that nobody takes an exploration for a verdict.
"""

from __future__ import annotations

from html import escape
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.results.live_figure import LiveFigure
from vibcal_nb.display.results.tables import summary_table
from vibcal_nb.display.results.verdict_html import verdict_head_html, verdict_reasons_html
from vibcal_nb.display.results.view import Control, WhatIf
from vibcal_nb.display.views import view_named
from vibcal_nb.display.writing.numbers import coverage, frequency
from vibcal_nb.metrology.uncertainty.coverage import PROBABILITY_OF_K_2, coverage_factor
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import GAP_CURVE
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.relay.check_rows import SetPointRow
from vibcal_nb.notebook.frame.interactive import is_interactive
from vibcal_nb.notebook.show import show
from vibcal_nb.problems import Refused

AS_WRITTEN = "as written"
DETECTORS = (AS_WRITTEN, "pk", "rms", "pkpk")


def explore(result: Result) -> None:
    """Show the what-if panel of a result; in a record, one line that says which limits were applied."""
    from IPython.display import display

    if is_interactive():
        display(build_panel(result).widget)
    else:
        text = (
            f"Limits applied: {applied_limits(result)}. The what-if panel appears when the notebook is opened and run."
        )
        show.sentence(text)


def _what_if(case: Case) -> WhatIf:
    what_if = view_named(case.test).what_if
    if what_if is None:
        raise TypeError(f"nothing of an analysis '{case.test}' can be changed in a panel")
    return what_if


def applied_limits(result: Result) -> str:
    """Say which limits and which rule a result was judged by."""
    return _what_if(result.case).limits(result)


class WhatIfPanel:
    """Controls beside a picture, a verdict and a table that follow them.

    ``widget`` is what is displayed; ``controls`` the controls by name; ``result`` the explored result.
    """

    def __init__(self, result: Result) -> None:
        import ipywidgets as widgets  # only where a person explores

        what_if = _what_if(result.case)
        self._analyse, self._case = what_if.analyse, result.case
        self._figure = LiveFigure()
        self.result = result
        own = {control.name: _widget(control, result.case) for control in what_if.controls(result)}
        self.controls = own | _shared_controls(result.case)
        self.picture = widgets.Image(format="png", width=900)
        self.verdict = widgets.HTML()
        self.reasons = widgets.HTML()
        self.table = widgets.HTML()
        for control in self.controls.values():
            control.observe(lambda _change: self.redraw(), names="value")
        head = widgets.HTML(
            "<b>Exploration</b>: what if the limits or readings were others? Nothing here changes the record."
        )
        side = widgets.VBox([head, *self.controls.values()], layout={"width": "380px", "flex": "0 0 380px"})
        right = widgets.VBox(
            [self.verdict, self.picture, self.reasons, self.table], layout={"flex": "1 1 auto", "min_width": "0"}
        )
        self.widget = widgets.HBox([side, right])
        self.redraw()

    def redraw(self) -> None:
        """Analyse the case as the controls stand, and show it.

        It is through before the kernel reports itself idle, and until then the front end keeps a control's newest
        value back: dragging leaves no queue of stale pictures.
        """
        values = {name: control.value for name, control in self.controls.items()}
        try:
            self.result = self._analyse(changed_case(self._case, values))
        except Refused as refusal:  # such as all rows left out: what was shown before is of other values
            self.picture.value, self.reasons.value, self.table.value = b"", "", ""
            self.verdict.value = f"<p>{escape(str(refusal))}</p>"
            return
        self.picture.value = self._figure.png(self.result)
        self.verdict.value = verdict_head_html(self.result)
        self.reasons.value = verdict_reasons_html(self.result)
        self.table.value = summary_table(self.result).to_html()


def changed_case(case: Case, values: dict[str, Any]) -> Case:
    """Return the case as the controls' values ask for it."""
    changed = case.with_excluded(frozenset(values["excluded"])).with_decision(
        rule=values["rule"], r=values["r"], coverage_probability=values["coverage_probability"]
    )
    if values.get("detector", AS_WRITTEN) != AS_WRITTEN and case.test != GAP_CURVE:  # a gap has no detector
        changed = changed.with_applied_detector(values["detector"])
    return _what_if(case).change(changed, values)


def build_panel(result: Result) -> WhatIfPanel:
    """Build the panel that belongs to a result."""
    return WhatIfPanel(result)


def _widget(control: Control, case: Case) -> Any:
    if control.kind == "range":
        return _range_slider(control.label, control.value)
    if control.kind == "frequency":
        return _frequency_slider(control.label, case, control.value)
    return _slider(control.label, control.value, control.most)


_STYLE = {"description_width": "120px"}
_WIDE = {"width": "370px"}


def _slider(name: str, value: float, most: float) -> Any:
    import ipywidgets as widgets

    return widgets.FloatSlider(
        value=value,
        min=0.1,
        max=max(most, value),
        step=0.1,
        readout_format=".1f",
        description=name,
        style=_STYLE,
        layout=_WIDE,
    )


def _range_slider(name: str, value: tuple[float, float]) -> Any:
    import ipywidgets as widgets

    low, high = min(-8.0, value[0]), max(0.0, value[1])
    return widgets.FloatRangeSlider(
        value=value, min=low, max=high, step=0.1, readout_format=".1f", description=name, style=_STYLE, layout=_WIDE
    )


def _frequency_slider(name: str, case: Case, reference_hz: float) -> Any:
    import ipywidgets as widgets

    options = sorted({reading.frequency_hz for reading in case.readings} | {reference_hz})
    return widgets.SelectionSlider(
        options=[(frequency(hz), hz) for hz in options],
        value=reference_hz,
        description=name,
        style=_STYLE,
        layout=_WIDE,
    )


def _coverage_dropdown(stated: float) -> Any:
    """The coverage factor k of a normal distribution, by the coverage probability that it stands for."""
    import ipywidgets as widgets

    probabilities = sorted({0.90, 0.95, PROBABILITY_OF_K_2, 0.99, 0.9973, stated})
    options = [(f"k = {coverage_factor(probability=p):.2f} ({coverage(p)})", p) for p in probabilities]
    return widgets.Dropdown(options=options, value=stated, description="U = k u", style=_STYLE, layout=_WIDE)


def _shared_controls(case: Case) -> dict[str, Any]:
    import ipywidgets as widgets

    held = [row for row in case.checks if isinstance(row, SetPointRow)]
    read: list[Reading | SetPointRow] = [*case.readings, *held]
    excluded = tuple(row.row for row in read if row.exclude is not None)
    decision = case.visit.decision
    detector = widgets.Dropdown(
        options=DETECTORS, value=AS_WRITTEN, description="applied levels", style=_STYLE, layout=_WIDE
    )
    return {
        **({} if held else {"detector": detector}),
        "rule": widgets.Dropdown(
            options=("simple", "guarded"), value=decision.rule, description="decision rule", style=_STYLE, layout=_WIDE
        ),
        "r": _slider("guard band, r U", decision.r, 3.0),
        "coverage_probability": _coverage_dropdown(decision.coverage_probability),
        "excluded": widgets.SelectMultiple(
            options=[_named(row) for row in read],
            value=excluded,
            rows=8,
            description="left out",
            style=_STYLE,
            layout=_WIDE,
        ),
    }


def _named(row: Reading | SetPointRow) -> tuple[str, int]:
    what = f"{row.set_point}, " if isinstance(row, SetPointRow) else ""
    return f"row {row.row}: {what}{frequency(row.frequency_hz)}, {row.applied:g} {row.applied_unit.shown}", row.row
