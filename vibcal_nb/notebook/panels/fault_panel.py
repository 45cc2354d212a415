"""Finding a fault by hand: pick a channel, look at an explanation, leave readings out, note a finding."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from vibcal_nb.analysis.faults.faults import FaultExplanations, explain_channel
from vibcal_nb.analysis.faults.next_measurement import candidate_points, suggest_checks, suggest_readings
from vibcal_nb.display.faults.fault_plots import live_explanation_png
from vibcal_nb.display.faults.fault_sentences import top_sentence
from vibcal_nb.display.faults.fault_tables import ranking_table, suggestions_table
from vibcal_nb.display.results.live_figure import LiveFigure
from vibcal_nb.display.writing.numbers import frequency
from vibcal_nb.model.case import Case

Cases = tuple[Case, ...]
Keep = Callable[[FaultExplanations, str, str], str]  # what was found, in words, and why readings were left out
TELLING = 0.005  # nats below which a further reading would separate nothing
_STYLE = {"description_width": "90px"}
_WIDE = {"width": "370px"}


def next_steps(found: FaultExplanations) -> tuple[Any, ...]:
    """The readings and checks that are expected to tell something."""
    items = (*suggest_readings(found, candidate_points(found)), *suggest_checks(found))
    return tuple(item for item in items if item.information > TELLING)


class FaultPanel:
    """Choices beside the picture of an explanation, the ranking and what to measure next.

    ``channels`` are the names to choose from and a function each that loads the cases; ``keep`` keeps a finding and
    says where. ``found`` are the explanations as the choices stand.
    """

    def __init__(self, channels: Mapping[str, Callable[[], Cases]], *, first: str, keep: Keep) -> None:
        import ipywidgets as widgets  # only where a person explores

        self._channels, self._keep = channels, keep
        self._cases: Cases = channels[first]()
        self.found = explain_channel(self._cases)
        self.channel = widgets.Dropdown(options=list(channels), value=first, description="channel", **_look())
        self.explanation = widgets.Dropdown(description="explanation", **_look())
        self.excluded = widgets.SelectMultiple(rows=10, description="left out", **_look())
        self.reason = widgets.Text(placeholder="why these are left out", description="reason", **_look())
        self.finding = widgets.Textarea(placeholder="what you found, and why", description="finding", **_look())
        self.save = widgets.Button(description="Keep this finding", tooltip="It is a finding and not a verdict")
        self.kept, self.sentence, self.tables = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.picture = widgets.Image(format="png", width=900)
        side = [self.channel, self.explanation, self.excluded, self.reason, self.finding, self.save, self.kept]
        left = widgets.VBox(side, layout={"width": "380px", "flex": "0 0 380px"})
        right = widgets.VBox([self.sentence, self.picture, self.tables], layout={"flex": "1 1 auto", "min_width": "0"})
        self.widget = widgets.HBox([left, right])
        self._filling = False
        self._figure = LiveFigure()
        self._offer_readings()
        self._show_explanations()
        self.channel.observe(lambda _: self._open(), names="value")
        self.excluded.observe(lambda _: self._explain(), names="value")
        self.explanation.observe(lambda _: self._draw(), names="value")
        self.save.on_click(lambda _: self._keep_finding())

    def _open(self) -> None:
        self._cases = self._channels[self.channel.value]()
        self._offer_readings()
        self._explain()

    def _offer_readings(self) -> None:
        readings = [reading for case in self._cases for reading in case.readings]
        self._filling = True
        self.excluded.value = ()
        self.excluded.options = [
            (f"row {r.row}: {r.test}, {frequency(r.frequency_hz)}, {r.applied:g} {r.applied_unit.shown}", r.row)
            for r in readings
        ]
        self.excluded.value = tuple(r.row for r in readings if r.exclude is not None)
        self._filling = False

    def _explain(self) -> None:
        if not self._filling:
            rows = frozenset(self.excluded.value)
            self.found = explain_channel([case.with_excluded(rows) for case in self._cases])
            self._show_explanations()

    def _show_explanations(self) -> None:
        self._filling = True
        self.explanation.options = [item.name for item in self.found.explanations[:8]]
        self.explanation.value = self.found.top.name
        self._filling = False
        self._draw()
        self.sentence.value = f"<p><b>{top_sentence(self.found)}</b></p>"
        steps = next_steps(self.found)
        shown = [ranking_table(self.found), *([suggestions_table(self.found, steps)] if steps else [])]
        self.tables.value = "".join(table.to_html() for table in shown)

    def _draw(self) -> None:
        if not self._filling and self.explanation.value is not None:
            item = self.found.of(self.explanation.value)
            self.picture.value = live_explanation_png(self._figure, self.found, item)

    def _keep_finding(self) -> None:
        from html import escape

        self.kept.value = f"<p>{escape(self._keep(self.found, self.finding.value, self.reason.value))}</p>"


def _look() -> dict[str, Any]:
    return {"style": _STYLE, "layout": _WIDE}
