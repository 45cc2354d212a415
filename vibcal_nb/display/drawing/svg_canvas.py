"""A canvas of matplotlib that writes small SVG: looks as classes, marks once, a second set of colours for dark screens.

matplotlib's own SVG of a figure here is three times as long and knows one set of colours. This canvas takes what
`matplotlib.backend_bases.RendererBase` is asked for, and uses nothing of matplotlib that is not public. Lengths are
those of the figure at 72 dots an inch. The same figure gives the same text, character for character.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from itertools import groupby
from typing import Any

from matplotlib.backend_bases import RendererBase
from matplotlib.colors import to_hex
from matplotlib.path import Path
from matplotlib.transforms import Affine2D, Bbox

_LETTERS = {Path.MOVETO: "M", Path.LINETO: "L", Path.CURVE3: "Q", Path.CURVE4: "C"}
_ANCHORS = {"left": "", "center": ";text-anchor:middle", "right": ";text-anchor:end"}
_LARGEST_MARK = 30.0
_EDGE = 0.01  # of a length: what lies on an edge lies within


class SvgCanvas(RendererBase):
    """What a figure is drawn on; `svg` returns the picture.

    ``dark`` are pairs of colours, ``#rrggbb``, light to dark; a colour that it does not name stays. ``family`` is
    the family of type. ``characters`` are those that were written.
    """

    def __init__(self, width: float, height: float, *, dark: Mapping[str, str], family: str) -> None:
        super().__init__()
        self.characters: set[str] = set()
        self._size = width, height
        self._dark, self._family = dark, family
        self._upright = Affine2D().scale(1.0, -1.0).translate(0.0, height)
        self._looks: dict[str, str] = {}
        self._marks: dict[tuple[str, str], str] = {}
        self._drawn: list[str] = []

    def flipy(self) -> bool:
        """Say that y grows downwards."""
        return True

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Return the size of the picture."""
        return self._size

    def draw_path(self, gc: Any, path: Path, transform: Any, rgbFace: Any = None) -> None:
        """Draw a line or a filled outline, cut off where its axes end."""
        look = _look(gc, rgbFace)
        if look is None:
            return
        box = gc.get_clip_rectangle()
        if rgbFace is not None and box is not None:
            path, transform = path.transformed(transform).clip_to_bbox(box), Affine2D()
        limits = None if box is None or rgbFace is not None else _flipped(box, self._size[1])
        parts = path.iter_segments(transform + self._upright, clip=limits, simplify=rgbFace is None)
        outline = _outline(parts)
        if outline:
            self._drawn.append(f'<path class="{self._class(look)}" d="{outline}"/>')

    def draw_markers(
        self, gc: Any, marker_path: Path, marker_trans: Any, path: Path, trans: Any, rgbFace: Any = None
    ) -> None:
        """Draw a mark at each point of a path that lies within its axes."""
        if max(marker_path.get_extents(marker_trans).size) > _LARGEST_MARK:  # a shape, as collections hand it over
            super().draw_markers(gc, marker_path, marker_trans, path, trans, rgbFace)
            return
        look = _look(gc, rgbFace)
        if look is None:
            return
        outline = _outline(marker_path.iter_segments(marker_trans + Affine2D().scale(1.0, -1.0), simplify=False))
        name = self._marks.setdefault((outline, self._class(look)), f"m{len(self._marks)}")
        box = gc.get_clip_rectangle()
        for vertices, _ in path.iter_segments(trans, simplify=False):
            x, y = vertices[-2:]
            if box is None or _within(box, x, y):
                x, y = self._upright.transform((x, y))
                self._drawn.append(f'<use href="#{name}" x="{_short(x)}" y="{_short(y)}"/>')

    def draw_text(
        self, gc: Any, x: float, y: float, s: str, prop: Any, angle: float, ismath: Any = False, mtext: Any = None
    ) -> None:
        """Write a text, held where its artist holds it, so that other letters would still stand there."""
        look = f"font-size:{_short(prop.get_size_in_points())}px;fill:{to_hex(gc.get_rgb())}"
        if mtext is not None and angle == 0:
            x, _ = mtext.get_transform().transform(mtext.get_unitless_position())
            look += _ANCHORS[mtext.get_horizontalalignment()]
        place = f'x="{_short(x)}" y="{_short(y)}"'
        if angle:
            place = f'transform="translate({_short(x)} {_short(y)}) rotate({_short(-angle)})"'
        self._drawn.append(f'<text class="{self._class(look)}" {place}>{escape(s)}</text>')
        self.characters.update(s)

    def svg(self, letters: str = "") -> str:
        """Return all that was drawn; ``letters`` is the style sheet that brings the type along."""
        width, height = map(_short, self._size)
        rules = "".join(f".{name}{{{look}}}" for look, name in self._looks.items())
        marks = "".join(f'<path id="{name}" class="{look}" d="{d}"/>' for (d, look), name in self._marks.items())
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
            f'font-family="{escape(self._family)}" stroke-linejoin="round">'
            f"<style>{letters}{rules}{self._dark_rules()}</style><defs>{marks}</defs>{''.join(self._drawn)}</svg>"
        )

    def _class(self, look: str) -> str:
        return self._looks.setdefault(look, f"c{len(self._looks)}")

    def _dark_rules(self) -> str:
        """The same looks in the colours of a dark screen, for those that have any there."""
        changed = {name: _recoloured(look, self._dark) for look, name in self._looks.items()}
        rules = "".join(f".{name}{{{look}}}" for name, look in changed.items() if look)
        return f"@media(prefers-color-scheme:dark){{{rules}}}" if rules else ""


def _look(gc: Any, face: Any) -> str | None:
    """Return fill and stroke as CSS; None where there is nothing to see."""
    parts = ["fill:none"] if face is None else _paint("fill", face, gc)
    width, rgb = gc.get_linewidth(), gc.get_rgb()
    if width > 0.0 and rgb[3] > 0.0:
        parts += [*_paint("stroke", rgb, gc), f"stroke-width:{_short(width)}"]
        _, dashes = gc.get_dashes()
        if dashes is not None:
            parts.append(f"stroke-dasharray:{' '.join(map(_short, dashes))}")
    elif face is None:
        return None
    return ";".join(parts)


def _paint(name: str, colour: Any, gc: Any) -> list[str]:
    """Return a colour, and how much of it, as CSS."""
    given = len(colour) == 4 and not gc.get_forced_alpha()
    opacity = colour[3] if given else gc.get_alpha()
    return [f"{name}:{to_hex(colour[:3])}", *([f"{name}-opacity:{_short(opacity)}"] if opacity < 1.0 else [])]


def _recoloured(look: str, colours: Mapping[str, str]) -> str:
    """Return what of a look has another colour in another set of colours."""
    pairs = (part.split(":", 1) for part in look.split(";"))
    return ";".join(f"{name}:{colours[value]}" for name, value in pairs if value in colours)


def _outline(parts: Iterable[tuple[Any, Any]]) -> str:
    """Return the steps of a path in SVG's language."""
    steps = (
        "z" if code == Path.CLOSEPOLY else _LETTERS[code] + " ".join(map(_short, vertices)) for vertices, code in parts
    )
    return "".join(step for step, _ in groupby(steps))


def _flipped(box: Bbox, height: float) -> tuple[float, float, float, float]:
    """Return where a line is to be cut off; matplotlib leaves one unit more."""
    return box.x0 + 1.0, height - box.y1 + 1.0, box.x1 - 1.0, height - box.y0 - 1.0


def _within(box: Bbox, x: float, y: float) -> bool:
    return bool(box.x0 - _EDGE <= x <= box.x1 + _EDGE and box.y0 - _EDGE <= y <= box.y1 + _EDGE)


def _short(value: float) -> str:
    """Write a length to a hundredth."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    if text in ("-0", "0"):
        return "0"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
