"""What a picture holds, read from its SVG by the standard library."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"


def words_in(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def marks_in(svg: str) -> list[tuple[float, float]]:
    return [(float(use.attrib["x"]), float(use.attrib["y"])) for use in ET.fromstring(svg).iter(f"{SVG}use")]


def outlines_in(svg: str) -> list[str]:
    """Every path that is drawn, marks not counted."""
    return [element.attrib["d"] for element in ET.fromstring(svg).findall(f"{SVG}path")]


def points_of(outline: str) -> list[tuple[float, float]]:
    numbers = [float(text) for text in re.findall(r"-?[0-9.]+", outline)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))
