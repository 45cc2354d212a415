"""Two figures held against each other by what they draw: the same marks, lines, words and colours at the same places.

Another version of a drawing library writes other bytes of the same figure. Places may differ by a dot of 1/72 inch, by
which a library may lay out axes otherwise; the type that a figure brings along is not compared.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from html import unescape
from urllib.parse import unquote
from xml.etree import ElementTree

DOT = 1.0
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_TYPE = re.compile(r"@font-face\{[^}]*\}")


def svg_in(address: str) -> str | None:
    """Return the drawing in a ``data:`` address as a page holds it; None where it holds none."""
    head, comma, rest = unescape(address).partition(",")
    if not comma or head not in ("data:image/svg+xml", "data:image/svg+xml;base64"):
        return None
    if not head.endswith("base64"):
        return unquote(rest)
    try:
        return base64.b64decode(rest, validate=True).decode("utf-8")
    except ValueError:
        return None


def same_figure(ours: str, theirs: str) -> bool:
    """Whether two drawings (SVG) draw the same, but for what another version of a library may change."""
    try:
        a, b = list(_drawn(ours)), list(_drawn(theirs))
    except (ElementTree.ParseError, ValueError):
        return False
    return len(a) == len(b) and all(_same(x, y) for x, y in zip(a, b, strict=True))


def _drawn(text: str) -> Iterator[tuple[str, str]]:
    """Yield what is drawn, in order: kind and name of each statement, and what it states."""
    if "<!" in text:  # entities, which could grow without end; no figure here has any
        raise ValueError("a document type")
    for element in ElementTree.fromstring(text).iter():
        tag = element.tag.rpartition("}")[2]
        yield tag, _TYPE.sub("", element.text or "") if tag == "style" else (element.text or "")
        yield from ((f"{tag} {name.rpartition('}')[2]}", value) for name, value in sorted(element.attrib.items()))


def _same(ours: tuple[str, str], theirs: tuple[str, str]) -> bool:
    if ours == theirs:
        return True
    if ours[0] != theirs[0] or ours[0] in ("text", "style"):
        return False
    if _NUMBER.sub("#", ours[1]) != _NUMBER.sub("#", theirs[1]):
        return False
    pairs = zip(_NUMBER.findall(ours[1]), _NUMBER.findall(theirs[1]), strict=True)
    return all(abs(float(a) - float(b)) <= DOT for a, b in pairs)
