"""Which files of a visit's records and of its site go into a bundle, and under which names."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

from vibcal_nb.problems import Refused
from vibcal_nb.records.bundle.manifest import INPUTS, RECORDS
from vibcal_nb.records.files.places import RESULTS_FILE
from vibcal_nb.records.files.plain_files import is_plain

_SITE_FILES = ("site.toml", "equipment.toml", "kinds.toml")
_KEPT = (".ipynb", ".html", ".pdf", ".json", ".sig", ".xml")


def record_files(visit: Path) -> dict[str, Path]:
    """Return the files of a visit's records by their names in a bundle.

    ``visit`` is a folder ``RECORDS/ASSET/VISIT`` as `run` makes it. Raises ``Refused`` where it is none.
    """
    visit = visit.absolute()
    if not is_plain(visit / RESULTS_FILE):
        raise Refused(
            f"{visit.as_posix()}: there is no {RESULTS_FILE} here; give a visit's folder of records, as run makes it."
        )
    root = f"{RECORDS}/{visit.parent.name}/{visit.name}"
    return {
        f"{root}/{path.relative_to(visit).as_posix()}": path
        for path in sorted(visit.rglob("*"))
        if path.suffix in _KEPT and _is_kept(path, visit)
    }


def _is_kept(path: Path, root: Path) -> bool:
    hidden = any(part.startswith(".") for part in path.relative_to(root).parts)
    return not hidden and is_plain(path) and path.resolve().is_relative_to(root.resolve())


def input_files(visit: Path) -> dict[str, Path]:
    """Return the files of a site that a visit's records rest on, by their names in a bundle.

    ``visit`` is a visit's folder in its site: with it go the asset's file, the visits before it, which drift looks
    into, and what the site states for all.
    """
    visit = visit.absolute()
    asset, site = visit.parent, visit.parent.parent
    root = f"{INPUTS}/{site.name or 'site'}"
    found = {f"{root}/{name}": site / name for name in (*_SITE_FILES, *_certificates(site)) if is_plain(site / name)}
    found |= {f"{root}/{asset.name}/{path.name}": path for path in sorted(asset.glob("*.toml")) if is_plain(path)}
    for folder in sorted(asset.iterdir()):
        if folder.is_dir() and folder.name <= visit.name and is_plain(folder / "visit.toml"):
            for path in sorted(folder.rglob("*")):
                if _is_kept(path, asset):
                    found[f"{root}/{asset.name}/{path.relative_to(asset).as_posix()}"] = path
    return found


def _certificates(site: Path) -> Iterator[str]:
    """Names of the certificates that the site's equipment names, those that lie in the site's folder."""
    try:
        values = tomllib.loads((site / "equipment.toml").read_text(encoding="utf-8-sig"))
    except (OSError, ValueError):
        return
    entries = values.get("reference")
    for entry in entries if isinstance(entries, list) else ():
        name = entry.get("certificate_file") if isinstance(entry, dict) else None
        if isinstance(name, str) and (site / name).resolve().is_relative_to(site.resolve()):
            yield Path(name).as_posix()
