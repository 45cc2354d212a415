"""JavaScript and style sheet of the figure that a person touches: one module, written in parts that are joined.

scales.js   An axis: places on the screen, round numbers, other units
picture.js  The figure as SVG: its parts are kept by name, and what changed is set
hand.js     What a hand does on the figure: point, click, drag, zoom, keys
readings.js The table of readings
findings.js What a person found, kept and opened again
panel.js    The whole, and the way to and from the kernel
touch.css   How it looks
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from vibcal_nb.display.style import DARK

PARTS = ("scales", "picture", "hand", "readings", "findings", "panel")
_HERE = Path(__file__).parent


@cache
def script() -> str:
    """Return the whole module."""
    return "\n".join((_HERE / f"{part}.js").read_text(encoding="utf-8") for part in PARTS)


@cache
def style_sheet() -> str:
    """Return the style sheet, with the colours of the records on light and on dark."""
    light = "".join(f"--c-{colour[1:]}: {colour};" for colour in DARK)
    dark = "".join(f"--c-{colour[1:]}: {other};" for colour, other in DARK.items())
    own = (_HERE / "touch.css").read_text(encoding="utf-8")
    return (
        f".vibcal-touch {{ {light} color-scheme: light; }}\n"
        f"body[data-jp-theme-light='false'] .vibcal-touch {{ {dark} color-scheme: dark; }}\n"
        f"@media (prefers-color-scheme: dark) {{ body:not([data-jp-theme-light]) .vibcal-touch {{ {dark} "
        f"color-scheme: dark; }} }}\n{own}"
    )
