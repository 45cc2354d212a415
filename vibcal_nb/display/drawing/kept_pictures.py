"""Pictures read back from where they were kept: a record's output, from which its report takes them."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from html.parser import HTMLParser
from urllib.parse import unquote

from vibcal_nb.display.drawing.picture import DATA, Picture

_SVG = "{http://www.w3.org/2000/svg}"
_ELEMENTS = {f"{_SVG}{name}" for name in ("svg", "style", "defs", "path", "use", "text")}
_LOOKS = {"width", "height", "viewBox", "font-family", "stroke-linejoin"}
_ATTRIBUTES = {*_LOOKS, "id", "class", "d", "x", "y", "transform", "href"}
_FETCHED = re.compile(r"@import|url\((?!data:font/woff;base64,)|\\")


def pictures_in(html: str) -> Iterator[Picture]:
    """Yield the pictures that `Picture.to_html` has put into an output.

    An SVG that could hold anything but lines, marks and words is left out: a record may come from anybody.
    """
    if DATA not in html:
        return
    found = _Images()
    found.feed(html)
    for source, text in found.images:
        svg = unquote(source.removeprefix(DATA))
        if source.startswith(DATA) and _is_plain(svg):
            yield Picture(svg=svg, text=text)


class _Images(HTMLParser):
    """Gathers source and alternative text of every image."""

    def __init__(self) -> None:
        super().__init__()
        self.images: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "img":
            given = dict(attrs)
            self.images.append((given.get("src") or "", given.get("alt") or ""))


def _is_plain(svg: str) -> bool:
    try:
        root = ET.fromstring(svg)
    except ET.ParseError:
        return False
    return "<!" not in svg and all(map(_is_plain_element, root.iter()))


def _is_plain_element(element: ET.Element) -> bool:
    known = element.tag in _ELEMENTS and _ATTRIBUTES.issuperset(element.attrib)
    fetches = element.tag == f"{_SVG}style" and _FETCHED.search(element.text or "")
    return known and not fetches and element.attrib.get("href", "#").startswith("#")
