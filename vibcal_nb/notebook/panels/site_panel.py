"""Sorting and filtering of a site's matrix, where a person is at the notebook."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.site.site_overview import URGENCIES, SiteOverview
from vibcal_nb.display.site.site_matrix import SORTS, matrix_html, select_channels
from vibcal_nb.display.site.site_tables import URGENCY_WORDS
from vibcal_nb.display.writing.names import plural
from vibcal_nb.notebook.show import show

PER_PAGE = 50
ALL = "all"


def build_site_panel(overview: SiteOverview) -> tuple[Any, dict[str, Any]]:
    """Build the controls above the matrix: text, asset, urgency, order, page. Returns the widget and the controls."""
    import ipywidgets as widgets  # only where a person explores

    assets = [ALL, *sorted({state.asset for state in overview.channels})]
    urgencies = [(ALL, 0), *((f"{word}: {URGENCIES[n].split(':')[0]}", n) for n, word in URGENCY_WORDS.items())]
    controls: dict[str, Any] = {
        "text": widgets.Text(placeholder="tag, location or reason", description="find", continuous_update=False),
        "asset": widgets.Dropdown(options=assets, description="asset"),
        "urgency": widgets.Dropdown(options=urgencies, description="urgency"),
        "sort": widgets.Dropdown(options=list(SORTS), description="order by"),
        "page": widgets.BoundedIntText(value=1, min=1, max=1, description="page"),
    }
    count, table = widgets.HTML(), widgets.HTML()

    def redraw(change: dict[str, Any] | None = None) -> None:
        asset = None if controls["asset"].value == ALL else controls["asset"].value
        found = select_channels(
            overview,
            text=controls["text"].value,
            asset=asset,
            urgency=controls["urgency"].value or None,  # a choice whose value is None is shown as none
            sort=controls["sort"].value,
        )
        pages = max(-(-len(found) // PER_PAGE), 1)
        controls["page"].max = pages
        first = (min(controls["page"].value, pages) - 1) * PER_PAGE
        count.value = f"{plural(len(found), 'channel')}, page {first // PER_PAGE + 1} of {pages}"
        table.value = matrix_html(overview, found[first : first + PER_PAGE], shown=PER_PAGE)

    for control in controls.values():
        control.observe(redraw, names="value")
    redraw()
    head = widgets.HBox(list(controls.values()), layout={"flex_flow": "row wrap"})
    return widgets.VBox([head, count, table]), controls


def explore(overview: SiteOverview) -> None:
    """Show the matrix with sorting and filtering; in a record, one line that says where it is."""
    text = "Sorting and filtering appear when the notebook is opened and run; the whole matrix stands above."
    show.widget(lambda: build_site_panel(overview)[0], otherwise=text)
