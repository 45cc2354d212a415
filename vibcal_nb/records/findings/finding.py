"""One finding of a person, as a file in the folder of its visit: never over an earlier one, and never a verdict.

A finding is ``findings/TAG.TEST.CONDITION.N.json`` with its picture as ``.svg`` beside it. It says how what was
explored differs from the record, so that it can be opened again and performed again.
"""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from vibcal_nb.problems import NotDone
from vibcal_nb.records.files.whole_files import write_atomically

NOT_A_VERDICT = "This is a finding and not a verdict: what a person took the readings to mean, to be confirmed."
FOLDER = "findings"
SCHEMA = 1
LONGEST_TEXT = 20_000  # characters
LARGEST_PICTURE = 2_000_000  # characters
LARGEST_FILE = 1_000_000  # bytes
_SVG = "{http://www.w3.org/2000/svg}svg"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """What a person found.

    ``parts`` name what it is about: channel, test, condition. ``headline`` is the answer of what was explored beside
    the record's, ``differences`` how they differ, in words; ``stand`` is the same as data. ``further`` is whatever else
    was seen. ``number`` counts the findings about one thing, from 1.
    """

    parts: tuple[str, ...]
    text: str
    by: str
    written: str
    headline: str
    differences: tuple[str, ...]
    stand: Mapping[str, Any]
    further: Mapping[str, Any] = field(default_factory=dict)
    number: int = 0


class FindingRefused(NotDone):
    """A finding that is not kept, or that cannot be read."""


def plain(text: str) -> str:
    """Return a text as a file can hold it: a browser may send half a character, a mark takes its place."""
    return text.strip().encode("utf-8", "surrogatepass").decode("utf-8", "replace")


def now() -> str:
    """Return when a finding is written: date, time and zone."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def write_finding(visit: Path, finding: Finding, picture: str) -> Path:
    """Keep a finding in the folder of its visit, with its picture as SVG; return its file.

    Raises ``FindingRefused`` where a word is missing or the picture is none, ``OSError`` where it cannot be written.
    """
    if not finding.text:
        raise FindingRefused("Nothing was kept: write down what you found first.")
    if not finding.by:
        raise FindingRefused("Nothing was kept: write down who found it first.")
    if len(finding.text) > LONGEST_TEXT or len(finding.by) > LONGEST_TEXT:
        raise FindingRefused(f"Nothing was kept: a finding has {LONGEST_TEXT} characters at most.")
    _require_picture(picture)
    folder = visit / FOLDER
    folder.mkdir(exist_ok=True)
    stem = _stem(finding.parts)
    number = 1 + max((found for found, _ in _numbered(folder, stem)), default=0)
    path = folder / f"{stem}.{number}.json"
    content = {
        "schema": SCHEMA,
        "kind": NOT_A_VERDICT,
        "about": list(finding.parts),
        "finding": finding.text,
        "by": finding.by,
        "written": finding.written,
        "headline": finding.headline,
        "differences": list(finding.differences),
        "stand": finding.stand,
        **({"further": finding.further} if finding.further else {}),
    }
    write_atomically(path.with_suffix(".svg"), picture)
    write_atomically(path, json.dumps(content, indent=1, ensure_ascii=False) + "\n")
    return path


def _require_picture(picture: str) -> None:
    if len(picture) > LARGEST_PICTURE:
        raise FindingRefused("Nothing was kept: its picture is larger than any of this software.")
    try:
        is_svg = ET.fromstring(picture).tag == _SVG
    except (ET.ParseError, ValueError):
        is_svg = False
    if not is_svg or "<!" in picture:
        raise FindingRefused("Nothing was kept: its picture is no SVG.")


def _stem(parts: tuple[str, ...]) -> str:
    """A name of a file that no part can lead elsewhere."""
    return ".".join("".join(c if c.isalnum() or c in "-_" else "_" for c in part) for part in parts)


def _numbered(folder: Path, stem: str) -> Iterator[tuple[int, Path]]:
    for path in folder.glob("*.json"):
        start, _, number = path.stem.rpartition(".")
        if start == stem and number.isdecimal():
            yield int(number), path


def findings_about(visit: Path, parts: tuple[str, ...]) -> tuple[Finding, ...]:
    """Return the findings about one thing, the newest first; a file that is no finding is passed over."""
    found = (read_finding(path) for _, path in sorted(_numbered(visit / FOLDER, _stem(parts)), reverse=True))
    return tuple(item for item in found if item is not None)


def findings_of(visit: Path) -> tuple[Finding, ...]:
    """Return all findings of a visit by name of file; a file that is no finding is passed over."""
    found = (read_finding(path) for path in sorted((visit / FOLDER).glob("*.json")))
    return tuple(item for item in found if item is not None)


def read_finding(path: Path) -> Finding | None:
    """Read a finding; None where the file is none."""
    try:
        if path.is_symlink() or path.stat().st_size > LARGEST_FILE:
            return None
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["schema"] != SCHEMA or not isinstance(data["stand"], dict):
            return None
        return Finding(
            parts=tuple(map(str, data["about"])),
            text=str(data["finding"]),
            by=str(data["by"]),
            written=str(data["written"]),
            headline=str(data["headline"]),
            differences=tuple(map(str, data["differences"])),
            stand=data["stand"],
            further=dict(data.get("further", {})),
            number=int(path.stem.rpartition(".")[2]),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
