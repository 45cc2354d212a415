"""What the notebook for describing a site calls: open what is stated so far, show it, and change it in place."""

from __future__ import annotations

import shutil
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.display.drawing.picture import Picture
from vibcal_nb.display.sketch.channel_sketch import ChannelSketch, sketch_of
from vibcal_nb.display.sketch.sketch_plots import sketch_picture
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.inputs.files.toml_table import load_toml
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.show import show
from vibcal_nb.problems import InputRefused, ParameterError, Problem, one_of, shown
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.new_files.changed import merged, with_values
from vibcal_nb.records.new_files.file_texts import ASSET, EQUIPMENT, KINDS

Path_ = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Described:
    """An asset as it is described: the texts of its files by name, and what each states.

    Every change makes a new one; nothing is written before `keep`.
    """

    home: Path
    texts: Mapping[str, str]

    @property
    def asset(self) -> dict[str, Any]:
        """What asset.toml states."""
        return tomllib.loads(self.texts[ASSET])

    @property
    def kinds(self) -> dict[str, Any]:
        """The kinds that the asset's channels may be of: the site's, and its own over them."""
        return merged(tomllib.loads(self.texts.get(KINDS, "")), _table(self.asset.get("kinds")))

    def file_of(self, name: str) -> Path:
        """Return where a file of the site or the asset lies."""
        return self.home / name if name == ASSET else self.home.parent / name

    def values(self, file: str, path: Path_) -> dict[str, Any]:
        """Return what one table of a file states."""
        found: Any = tomllib.loads(self.texts.get(file, ""))
        for name in path:
            found = _table(found.get(name))
        return dict(found)

    def channel(self, tag: str) -> dict[str, Any]:
        """Return what holds of a channel: its own keys over those of its kind."""
        own = _table(_table(self.asset.get("channels")).get(tag))
        kind = dict(_table(self.kinds.get(str(own.get("kind", "")))))
        if "tolerance" in own or "tolerance_pct" in own:  # one replaces the other
            kind = {name: value for name, value in kind.items() if name not in ("tolerance", "tolerance_pct")}
        return merged(kind, own)

    def sketch(self, tag: str) -> ChannelSketch:
        """Return the sketch of a channel, as far as it is stated."""
        return sketch_of(tag, self.channel(tag), rotors=_table(self.asset.get("rotors")))

    def sketch_of_kind(self, name: str) -> ChannelSketch:
        """Return the sketch of a kind."""
        return sketch_of(name, _table(self.kinds.get(name)), rotors={})

    def changed(self, file: str, path: Path_, values: Mapping[str, Any]) -> Described:
        """Return the description with values of one table changed; None takes a key away. Raises ``NotDone``."""
        text = with_values(self.texts.get(file, ""), path, values, file=file)
        return Described(home=self.home, texts={**self.texts, file: text})

    def problems(self) -> tuple[Problem, ...]:
        """Read the files as `check` does, and return what is open or wrong."""
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / self.home.name
            copy.mkdir()
            for name, text in self.texts.items():
                (copy if name == ASSET else copy.parent).joinpath(name).write_bytes(text.encode("utf-8"))
            if EQUIPMENT not in self.texts and self.file_of(EQUIPMENT).exists():
                shutil.copyfile(self.file_of(EQUIPMENT), copy.parent / EQUIPMENT)
            try:
                load_asset_folder(copy)
            except InputRefused as refused:
                return refused.problems
        return ()

    def keep(self, since: Described) -> tuple[Path, ...]:
        """Write the files that differ from what they were ``since``; return them.

        Raises ``ParameterError`` where a file was changed by someone else in between: nothing is written then.
        """
        changed = [name for name, text in self.texts.items() if text != since.texts.get(name)]
        for name in changed:
            if _read(self.file_of(name)) != since.texts.get(name):
                raise ParameterError(f"{name} was changed by someone else meanwhile; run the notebook again.")
        for name in changed:
            write_atomically(self.file_of(name), self.texts[name])
        return tuple(self.file_of(name) for name in changed)


def open_description(namespace: Mapping[str, Any], *, asset_folder: str, channel: str) -> Described:
    """Open what is stated of an asset so far; ``channel`` is the one that is shown, empty for the first.

    Raises ``ParameterError``, ``InputRefused``, shown as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, ("asset_folder", "channel"))
    home = Path(require_text("asset_folder", asset_folder)).absolute()
    if not isinstance(channel, str):
        raise ParameterError(f"The parameter channel is {channel!r}; give a tag in quotes, or nothing between them.")
    if not (home / ASSET).exists():
        raise ParameterError(f"{asset_folder} has no {ASSET}; `new {asset_folder}` makes one to fill in.")
    described = read_description(home)
    if channel and channel not in _table(described.asset.get("channels")):
        known = one_of(channel, _table(described.asset.get("channels")))
        raise ParameterError(f"There is no channel {shown(channel)}; {known}.")
    return described


def read_description(home: Path) -> Described:
    """Read the files of an asset and its site as they stand. Raises ``InputRefused`` where one is no TOML."""
    problems: list[Problem] = []
    places = {ASSET: home / ASSET, KINDS: home.parent / KINDS, EQUIPMENT: home.parent / EQUIPMENT}
    texts = {name: text for name, path in places.items() if (text := _read(path)) is not None}
    for name in texts:
        load_toml(places[name], problems)
    if problems:
        raise InputRefused(problems)
    return Described(home=home, texts=texts)


def show_described(described: Described) -> None:
    """Show the channels, and what is open or wrong."""
    show.table(_channels_table(described))
    problems = [problem.sentence.rstrip(".") for problem in described.problems()]
    show.listed("Open, or to be mended", tuple(problems or ["nothing"]))


def show_sketch(described: Described, channel: str) -> None:
    """Show the sketch of a channel; of the first one where none is named."""
    show.picture(picture_of(described, channel))


def picture_of(described: Described, channel: str) -> Picture:
    """Return the sketch of a channel; of the first one where none is named."""
    tags = list(_table(described.asset.get("channels")))
    if not channel and not tags:
        return sketch_picture(sketch_of(described.home.name, {}, rotors={}))
    return sketch_picture(described.sketch(channel or tags[0]))


def _channels_table(described: Described) -> Table:
    rows = []
    for tag in _table(described.asset.get("channels")):
        values = described.channel(tag)
        sketch = described.sketch(tag)
        levels = ", ".join(f"{name} {level:g}" for name, level in sketch.levels.items()) or "none"
        rotors = ", ".join(f"{name} {60.0 * hz:g} rpm" for name, hz in sketch.rotors_hz.items()) or "none"
        chain = f"{sketch.input_unit} to {sketch.output_unit}"
        rows.append(Row(cells=(tag, str(values.get("kind", "")), chain, levels, rotors)))
    headings = ("channel", "kind", "units", "levels, in the input unit", "rotors")
    caption = f"Channels of {described.home.name}"
    return Table(caption=caption, headings=headings, rows=tuple(rows), text_columns=(0, 1, 2, 3, 4))


def _table(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _read(path: Path) -> str | None:
    return path.read_bytes().decode("utf-8-sig", errors="replace") if path.is_file() else None
