"""Texts, tables and figures that two versions of libraries show, held against each other by what they say.

A number may differ by one unit of its last digit, since eight digits are what platforms promise and fewer are shown.
A figure is compared by what it draws: its marks, lines, words and colours.
"""

from __future__ import annotations

import re
from typing import Any

from vibcal_nb.records.seal.sources import joined
from vibcal_nb.running.verify.again.compare_figures import same_figure, svg_in

_NUMBER = re.compile(r"(?<![\w.])[-−+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_PICTURE = re.compile(r'data:image/[^"]*')


def same_shown(kind: str, ours: Any, theirs: Any) -> bool:
    """Whether two outputs of one kind show the same, but for what another version of a library may change."""
    a, b = joined(ours), joined(theirs)
    if kind.startswith("image/"):
        return kind == "image/svg+xml" and same_figure(a, b)
    pictures, others = (_PICTURE.findall(text) for text in (a, b))
    if len(pictures) != len(others):
        return False
    if not all(_same_picture(p, q) for p, q in zip(pictures, others, strict=True)):
        return False
    return same_text(_PICTURE.sub("", a), _PICTURE.sub("", b))


def _same_picture(ours: str, theirs: str) -> bool:
    if ours == theirs:
        return True
    drawings = svg_in(ours), svg_in(theirs)
    return drawings[0] is not None and drawings[1] is not None and same_figure(drawings[0], drawings[1])


def same_text(ours: str, theirs: str) -> bool:
    """Whether two texts are the same, but for one unit of the last digit of a number."""
    if _NUMBER.sub("#", ours) != _NUMBER.sub("#", theirs):
        return False
    return all(_same_number(a, b) for a, b in zip(_NUMBER.findall(ours), _NUMBER.findall(theirs), strict=True))


def _same_number(a: str, b: str) -> bool:
    if a == b:
        return True
    x, y = (text.replace("−", "-") for text in (a, b))
    if _decimals(x) == 0 or _decimals(x) != _decimals(y):  # a whole number counts something
        return False
    mantissas = [float(re.split("[eE]", text)[0]) for text in (x, y)]
    exponents = {text.lower().partition("e")[2] for text in (x, y)}
    return len(exponents) == 1 and abs(mantissas[0] - mantissas[1]) <= 1.0001 * 10.0 ** -_decimals(x)


def _decimals(text: str) -> int:
    return len(re.split("[eE]", text)[0].partition(".")[2])
