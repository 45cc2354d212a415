"""What a picture holds, read from its SVG by the standard library; where its words end, by the type's own widths."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from fontTools.ttLib import TTFont
from matplotlib import get_data_path

SVG = "{http://www.w3.org/2000/svg}"


class Word(NamedTuple):
    """A line of text and the box around it; y grows downwards."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


def words_in(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def marks_in(svg: str) -> list[tuple[float, float]]:
    return [(float(use.attrib["x"]), float(use.attrib["y"])) for use in ET.fromstring(svg).iter(f"{SVG}use")]


def marks_of_look(svg: str, look: str) -> list[tuple[float, float]]:
    """The marks whose style sheet holds ``look``, on a light screen."""
    root = ET.fromstring(svg)
    light = "".join(element.text or "" for element in root.iter(f"{SVG}style")).split("@media")[0]
    classes = {name for name, rule in re.findall(r"\.(\w+)\{([^}]*)\}", light) if look in rule}
    names = {
        path.attrib["id"] for path in root.iter(f"{SVG}path") if "id" in path.attrib and path.attrib["class"] in classes
    }
    uses = [use for use in root.iter(f"{SVG}use") if use.attrib["href"][1:] in names]
    return [(float(use.attrib["x"]), float(use.attrib["y"])) for use in uses]


def outlines_in(svg: str) -> list[str]:
    """Every path that is drawn, marks not counted."""
    return [element.attrib["d"] for element in ET.fromstring(svg).findall(f"{SVG}path")]


def points_of(outline: str) -> list[tuple[float, float]]:
    numbers = [float(text) for text in re.findall(r"-?[0-9.]+", outline)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def word_boxes(svg: str) -> Iterator[Word]:
    """Every word with the place it takes, in the type that the picture brings along."""
    root = ET.fromstring(svg)
    sheet = "".join(element.text or "" for element in root.iter(f"{SVG}style")).split("@media")[0]
    looks = dict(re.findall(r"\.(\w+)\{([^}]*)\}", sheet))
    for element in root.iter(f"{SVG}text"):
        look, text = looks[element.attrib["class"]], element.text or ""
        size = float(re.search(r"font-size:([0-9.]+)px", look)[1])
        width = size * sum(_widths()[character] for character in text)
        shift = {"middle": 0.5, "end": 1.0}.get((re.search(r"text-anchor:(\w+)", look) or [0, ""])[1], 0.0) * width
        if "transform" in element.attrib:
            x, y = map(float, re.search(r"translate\(([0-9.-]+) ([0-9.-]+)\)", element.attrib["transform"]).groups())
            yield Word(text, x - 0.8 * size, y - width, x + 0.2 * size, y)
        else:
            x, y = float(element.attrib["x"]) - shift, float(element.attrib["y"])
            yield Word(text, x, y - 0.75 * size, x + width, y + 0.2 * size)


@cache
def _widths() -> dict[str, float]:
    font = TTFont(f"{get_data_path()}/fonts/ttf/DejaVuSans.ttf")
    return {chr(code): font["hmtx"][name][0] / font["head"].unitsPerEm for code, name in font.getBestCmap().items()}


def size_of(svg: str) -> tuple[float, float]:
    root = ET.fromstring(svg)
    return float(root.attrib["width"]), float(root.attrib["height"])
