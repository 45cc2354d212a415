"""Where a record lies, and where one of its asset, visit, channel, analysis and condition belongs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.records.files.places import RESULTS_FILE, SUPERSEDED, path_name
from vibcal_nb.records.files.plain_files import is_plain
from vibcal_nb.records.register.register import register_path

_IDENTITY = ("asset", "visit", "channel", "analysis", "condition")


@dataclass(frozen=True, kw_only=True)
class Place:
    """A record's file: ``root`` is the records folder that it would lie in, ``superseded`` whether it was set aside."""

    path: Path
    root: Path
    superseded: bool

    @property
    def results(self) -> Path:
        """The results file of its visit."""
        return self.channel_folder.parent / RESULTS_FILE

    @property
    def channel_folder(self) -> Path:
        """The folder of its channel."""
        return self.path.parent.parent if self.superseded else self.path.parent

    @property
    def is_alone(self) -> bool:
        """Whether neither a results file nor a register says that it lies in a records folder."""
        return not is_plain(self.results) and not is_plain(register_path(self.root))


def place_of(path: Path) -> Place:
    """Return where a record's file lies."""
    full = path.absolute()
    superseded = full.parent.name == SUPERSEDED
    above = [*full.parents, *[full.parents[-1]] * 5]
    return Place(path=full, root=above[4 if superseded else 3], superseded=superseded)


def belongs_at(identity: Mapping[str, Any]) -> str:
    """Return where a record belongs, from the records folder, with forward slashes. Raises ``KeyError``."""
    asset, visit, channel, analysis, condition = (path_name(str(identity[name])) for name in _IDENTITY)
    return f"{asset}/{visit}/{channel}/{analysis}.{condition}.ipynb"


def misplaced(place: Place, identity: Mapping[str, Any], revision: object) -> str | None:
    """Say where a record lies that belongs elsewhere; None where it lies where it belongs. Raises ``KeyError``."""
    belongs = belongs_at(identity)
    home = f"{place.root.name}/" if place.root.name else ""
    if not place.superseded:
        lies = place.path.relative_to(place.root).as_posix()
        return None if lies == belongs else f"it lies at {home}{lies}, where another record belongs; it is of {belongs}"
    folder, _, name = belongs.rpartition("/")
    stem = f"{name.removesuffix('.ipynb')}.rev{revision}"
    lies = place.path.relative_to(place.root).as_posix()
    own = place.path.stem == stem or place.path.stem.startswith(f"{stem}-")
    if own and place.path.parent.relative_to(place.root).as_posix() == f"{folder}/{SUPERSEDED}":
        return None
    return f"it lies at {home}{lies}, where another record belongs; it is revision {revision} of {belongs}"
