"""Forms in which a person describes an asset's channels and kinds, beside a sketch that follows what is typed."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Any

from vibcal_nb.display.sketch.sketch_plots import sketch_picture
from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS
from vibcal_nb.model.keys.asset_keys import ASSET_FILE, ROTOR
from vibcal_nb.model.keys.channel_keys import CHANNEL, KIND
from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.notebook.describe_site import Described, read_description
from vibcal_nb.notebook.show import show
from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.new_files.file_texts import ASSET, KINDS
from vibcal_nb.records.new_files.typed import typed, value_of
from vibcal_nb.records.new_files.write_new import plan_new

MOST_SAID = 12
PARTS = ("band", "sensor", "module")
_FIELD = {"width": "340px"}
_NAME = {"description_width": "150px"}


class SiteForm:
    """The fields of one channel, kind or rotor at a time, its sketch, and what is still open.

    ``widget`` is what is displayed, ``fields`` the controls by the path of their key, ``described`` what they state.
    """

    def __init__(self, described: Described) -> None:
        import ipywidgets as widgets  # only where a person explores

        self._widgets, self._kept, self.described = widgets, described, described
        self.fields: dict[tuple[str, ...], Any] = {}
        self.choice = widgets.Dropdown(description="describe", style=_NAME, layout=_FIELD)
        self.form, self.sketch, self.said, self.done = widgets.VBox(), widgets.HTML(), widgets.HTML(), widgets.HTML()
        keep = widgets.Button(description="Keep", tooltip="Write what was typed into the files")
        keep.on_click(lambda _: self.keep())
        self.form.layout = {"max_height": "430px", "overflow": "auto", "display": "block"}  # the sketch stays in sight
        self.widget = widgets.VBox(
            [self._new_box(), self.choice, self.sketch, self.form, widgets.HBox([keep, self.done]), self.said]
        )
        self._offer()
        self.choice.observe(lambda _: self.open(), names="value")
        self.open()

    def _new_box(self) -> Any:
        widgets = self._widgets
        self.tag = widgets.Text(description="new channel", placeholder="tag", style=_NAME, layout=_FIELD)
        own = [(f"of the kind {name}", name) for name in self.described.kinds if name not in COMMON_KINDS]
        common = [(f"of the common kind {name}", name) for name in COMMON_KINDS]
        self.kind = widgets.Dropdown(options=[*own, *common], layout=_FIELD)
        add = widgets.Button(description="Add")
        add.on_click(lambda _: self.add())
        return widgets.HBox([self.tag, self.kind, add], layout={"flex_flow": "row wrap"})

    def _offer(self) -> None:
        """Offer what there is to describe, channels first."""
        asset = self.described.asset
        channels = [(f"channel {tag}", (ASSET, "channels", tag)) for tag in asset.get("channels", {})]
        kinds = [(f"kind {name}", (KINDS, name)) for name in self.described.values(KINDS, ())]
        own = [(f"kind {name} of this asset", (ASSET, "kinds", name)) for name in asset.get("kinds", {})]
        rotors = [(f"rotor {name}", (ASSET, "rotors", name)) for name in asset.get("rotors", {})]
        options = [*channels, *kinds, *own, *rotors]
        self.choice.options = options
        if options:
            self.choice.value = options[0][1]

    @property
    def _chosen(self) -> tuple[str, tuple[str, ...]]:
        """The file and the path of the table that is described; without any, the asset's own."""
        file, *path = self.choice.value or (ASSET, "asset")
        return file, tuple(path)

    def open(self) -> None:
        """Show the fields of what is chosen."""
        file, path = self._chosen
        self.fields = {}
        boxes = [self._rows(table, file, (*path, *below)) for table, below in _tables(file, path)]
        self.form.children = tuple(self._folded(boxes, file, path))
        self.redraw()

    def _folded(self, boxes: list[Any], file: str, path: tuple[str, ...]) -> Iterator[Any]:
        yield boxes[0]
        for part, box in zip(PARTS, boxes[1:], strict=False):
            fold = self._widgets.Accordion(children=[box], titles=[part])
            fold.selected_index = 0 if self.described.values(file, (*path, part)) else None
            yield fold

    def _rows(self, table: KeyTable, file: str, path: tuple[str, ...]) -> Any:
        values, of_kind = self.described.values(file, path), self._of_kind(file, path)
        rows = []
        for key in table.keys:
            if not _has_keys_of_its_own(key):
                field = self._field(key, values.get(key.name), of_kind.get(key.name))
                field.observe(lambda change, key=key, path=path: self._typed(path, key, change["new"]), names="value")
                self.fields[(*path, key.name)] = field
                unit = f" ({key.unit})" if key.unit else ""
                said = f'<div style="line-height: 1.25; font-size: 85%">{escape(key.says + unit)}</div>'
                rows.append(self._widgets.HBox([field, self._widgets.HTML(said, layout={"width": "520px"})]))
        return self._widgets.VBox(rows)

    def _of_kind(self, file: str, path: tuple[str, ...]) -> dict[str, Any]:
        """What the kind of a channel states of a table of it."""
        if file != ASSET or path[0] != "channels":
            return {}
        found: Any = self.described.kinds.get(str(self.described.values(file, path[:2]).get("kind", "")), {})
        for name in path[2:]:
            found = found.get(name, {}) if isinstance(found, dict) else {}
        return found if isinstance(found, dict) else {}

    def _field(self, key: Key, value: object, of_kind: object) -> Any:
        text, look = typed(key, value), {"description": key.name, "style": _NAME, "layout": _FIELD}
        if key.type == "choice" and text in ("", *key.choices):
            return self._widgets.Dropdown(options=["", *key.choices], value=text, **look)
        example = "" if key.example is None else f"such as {typed(key, value_of(key, key.example))}".replace('"', "")
        hint = example if of_kind in (None, "") else f"of its kind: {typed(key, of_kind)}"
        return self._widgets.Text(value=text, placeholder=hint, **look)

    def _typed(self, path: tuple[str, ...], key: Key, text: str) -> None:
        file, top = self._chosen
        value = value_of(key, text)
        if value is None and key.required and top[0] != "channels":  # what a channel lacks its kind states
            value = ""
        try:
            self.described = self.described.changed(file, path, {key.name: value})
        except Refused as refused:
            self.done.value = _paragraph(str(refused))
            return
        self.redraw()

    def redraw(self) -> None:
        """Draw what is stated, and say what is open of it."""
        file, path = self._chosen
        is_channel = file == ASSET and path[0] == "channels"
        if is_channel or path[0] != "rotors":
            drawn = self.described.sketch(path[-1]) if is_channel else self.described.sketch_of_kind(path[-1])
            self.sketch.value = sketch_picture(drawn).to_html()
        problems = [problem.sentence for problem in self.described.problems()]
        items = "".join(f"<li>{escape(line)}</li>" for line in problems[:MOST_SAID])
        more = f"<li>and {len(problems) - MOST_SAID} more</li>" if len(problems) > MOST_SAID else ""
        head = f"{len(problems)} open or to be mended" if problems else "Nothing is open."
        self.said.value = f"{_paragraph(head)}<ul>{items}{more}</ul>"

    def add(self) -> None:
        """Write a new channel into the files, its keys open, and show it; what was typed before is kept first."""
        try:
            self.keep()
            asset = self.described.home
            plan_new(asset, channels=[(self.tag.value.strip(), self.kind.value)]).write()
            self.described = self._kept = read_description(asset)
        except (Refused, OSError) as error:
            self.done.value = _paragraph(in_words(error))
            return
        self._offer()
        tag = next(reversed(self.described.asset["channels"]))
        self.choice.value = (ASSET, "channels", tag)
        self.open()
        self.done.value = _paragraph(f"{tag} was added; its kind's open values stand under its kind.")

    def keep(self) -> None:
        """Write what was typed into the files; comments and all else stay as they are."""
        try:
            written = self.described.keep(self._kept)
        except (Refused, OSError) as error:
            self.done.value = _paragraph(in_words(error))
            return
        self._kept = self.described
        names = " and ".join(path.name for path in written)
        self.done.value = _paragraph(f"{names}: what was typed is kept." if names else "Nothing was changed.")


def _has_keys_of_its_own(key: Key) -> bool:
    """Whether a key is of tables below headings of their own: parts are shown apart, the rest is for the file."""
    return key.type == "tables by name" or (key.table is not None and key.example is None) or key.name == "items"


def _tables(file: str, path: tuple[str, ...]) -> Iterator[tuple[KeyTable, tuple[str, ...]]]:
    """Yield the tables of keys of what is described, with where each stands below it."""
    if path[0] == "rotors":
        yield ROTOR, ()
        return
    if path == ("asset",):
        head = ASSET_FILE["asset"].table
        assert head is not None
        yield head, ()
        return
    table = CHANNEL if file == ASSET and path[0] == "channels" else KIND
    yield table, ()
    for part in PARTS:
        below = table[part].table
        assert below is not None
        yield below, (part,)


def _paragraph(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def describe(described: Described) -> None:
    """Show the forms; in a record, one line that says where they are."""
    show.widget(
        lambda: SiteForm(described).widget,
        otherwise="Forms for every channel, kind and rotor appear here when the notebook is opened and run.",
    )
