"""A layout corrected by choices, with the table beside it, where a person is at the notebook."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from vibcal_nb.inputs.grids.grid import letters
from vibcal_nb.inputs.layout.headings import headings_of
from vibcal_nb.inputs.layout.read_layout import BY_LETTER, COLUMNS
from vibcal_nb.inputs.propose.layout_text import layout_text
from vibcal_nb.model.layout import DEVIATION_PCT, Layout, TablePart
from vibcal_nb.model.names import CONDITIONS, TESTS
from vibcal_nb.notebook.old_tables import OldTable
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.show.show_old_tables import grid_html, meanings
from vibcal_nb.problems import in_words
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.old_tables.bring import Brought, bring

LEFT_OUT, STATED, NOT_NAMED = "left out", "a stated deviation, %", "not named"
CHOSEN_WHY = "left out by choice"
CONSTANTS = ("channel", "test", "condition", "frequency_hz", "applied_unit", "output_unit")


def column_choice(part: TablePart, heading: str) -> str:
    """Return what a layout takes a heading for, in the words of the choices."""
    if heading in part.ignore:
        return LEFT_OUT
    return STATED if heading in part.stated else part.columns.get(heading, NOT_NAMED)


def with_column(part: TablePart, heading: str, choice: str) -> TablePart:
    """Return the part with a heading taken for something else."""
    columns, stated, ignore = dict(part.columns), dict(part.stated), dict(part.ignore)
    for names in (columns, stated, ignore):
        names.pop(heading, None)
    if choice == LEFT_OUT:
        ignore[heading] = CHOSEN_WHY
    elif choice == STATED:
        stated[heading] = DEVIATION_PCT
    elif choice != NOT_NAMED:
        columns[heading] = choice
    return replace(part, columns=columns, stated=stated, ignore=ignore)


def with_constant(part: TablePart, name: str, text: str) -> TablePart:
    """Return the part with what holds in every row stated otherwise; empty where nothing is stated."""
    constants = {key: value for key, value in part.constants.items() if key != name}
    return replace(part, constants={**constants, name: text} if text else constants)


class LayoutPanel:
    """The controls, the layout that they state, and what it makes of the table."""

    def __init__(self, old: OldTable) -> None:
        import ipywidgets as widgets  # only where a person explores

        self.old, self.layout = old, old.layout
        self.brought: Brought = old.brought
        self.said, self.table, self.kept = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.name = widgets.Text(value=f"{old.path.stem}.toml", description="layout file")
        keep = widgets.Button(description="Keep the layout")
        keep.on_click(lambda _: self.keep())
        boxes = [self._part_box(number, widgets) for number in range(len(self.layout.parts))]
        self.widget = widgets.VBox([*boxes, widgets.HBox([self.name, keep]), self.kept, self.said, self.table])
        self.redraw()

    def _part_box(self, number: int, widgets: Any) -> Any:
        part = self.layout.parts[number]
        controls = [
            self._dropdown(widgets, heading, [*COLUMNS, STATED, LEFT_OUT, NOT_NAMED], column_choice(part, heading))
            for heading in self._headings(part)
        ]
        for control in controls:
            control.observe(self._changed(number, with_column, control.description), names="value")
        stated = [self._constant(widgets, part, name) for name in CONSTANTS]
        for name, control in zip(CONSTANTS, stated, strict=True):
            control.observe(self._changed(number, with_constant, name), names="value")
        title = widgets.HTML(f"<b>Table below row {part.headings_row}</b>: each heading, and what holds in every row")
        wrap = {"flex_flow": "row wrap"}
        return widgets.VBox([title, widgets.HBox(controls, layout=wrap), widgets.HBox(stated, layout=wrap)])

    def _headings(self, part: TablePart) -> list[str]:
        grid = self.brought.files[0].table.laid.read[0]
        headings = headings_of(grid, part)
        texts = list(headings.values())
        wide = part.wide.values if part.wide else {}
        names = [h if texts.count(h) == 1 else f"{BY_LETTER}{letters(c)}" for c, h in headings.items()]
        return [name for name in names if name not in wide]

    def _dropdown(self, widgets: Any, name: str, options: list[str], value: str) -> Any:
        return widgets.Dropdown(description=name, options=options, value=value)

    def _constant(self, widgets: Any, part: TablePart, name: str) -> Any:
        known: Mapping[str, tuple[str, ...]] = {"test": ("", *TESTS), "condition": ("", *CONDITIONS)}
        value = part.constants.get(name, "")
        if name in known and value in known[name]:
            return self._dropdown(widgets, name, list(known[name]), value)
        return widgets.Text(description=name, value=value, continuous_update=False)

    def _changed(
        self, number: int, change: Callable[[TablePart, str, str], TablePart], name: str
    ) -> Callable[[Any], None]:
        def changed(event: Any) -> None:
            parts = list(self.layout.parts)
            parts[number] = change(parts[number], name, str(event["new"]).strip())
            self.use(replace(self.layout, parts=tuple(parts)))

        return changed

    def use(self, layout: Layout) -> None:
        """Take another layout, and show what it makes of the table."""
        self.layout = layout
        self.brought = bring([self.old.path], layout, asset=self.old.asset, day=self.old.day)
        self.redraw()

    def redraw(self) -> None:
        """Show the problems and questions, and the first sheet cell for cell."""
        from html import escape

        problems = [problem.sentence for problem in self.brought.problems]
        lines = problems or [question.sentence for question in self.brought.questions]
        head = f"{len(problems)} to mend" if problems else f"{len(self.brought.readings)} readings"
        items = "".join(f"<li>{escape(line)}</li>" for line in lines[:20])
        self.said.value = f"<p>{head}</p><ul>{items}</ul>"
        file = self.brought.files[0]
        grid = file.table.laid.read[0]
        meant = {place: what for (_, sheet, place), what in meanings(self.brought).items() if sheet == grid.name}
        self.table.value = grid_html(grid, meant)

    def keep(self) -> None:
        """Write the layout into the site's folder; a file that is there is never overwritten."""
        path = self.old.visit.absolute().parent.parent / self.name.value
        try:
            if path.exists():
                self.kept.value = f"<p>{path} is there already; give another name.</p>"
                return
            write_atomically(path, layout_text(self.layout))
            self.kept.value = f"<p>{path}: the layout is kept; give it as layout_file, or by import --layout.</p>"
        except OSError as error:
            self.kept.value = f"<p>{in_words(error)}</p>"


def correct_layout(old: OldTable) -> None:
    """Show the choices; in a record, one line that says where they are."""
    show.widget(
        lambda: LayoutPanel(old).widget,
        otherwise="Choices for every heading appear here when the notebook is opened and run.",
    )
