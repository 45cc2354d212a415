"""The style sheet of a record's page, on light and dark screens, on narrow ones, and on paper."""

from __future__ import annotations

from vibcal_nb.display.style import DARK, GREY, GRID, INK, LIMIT, PAPER, SET_POINT

_GROUND, _DARK_GROUND = "#f4f4f4", "#1d1d1d"
_NAMES = {"paper": PAPER, "ink": INK, "grey": GREY, "grid": GRID, "link": LIMIT, "note": SET_POINT}


def _colours(colour_of: dict[str, str], ground: str) -> str:
    names = {name: colour_of.get(colour, colour) for name, colour in _NAMES.items()}
    return "; ".join(f"--{name}: {colour}" for name, colour in {**names, "ground": ground}.items())


_LIGHT = f":root {{ {_colours({}, _GROUND)}; color-scheme: light }}"
_DARK = f":root {{ {_colours(DARK, _DARK_GROUND)}; color-scheme: dark }}"

# IDENTITY is replaced by the record's name and seal, which stand at the foot of every printed page.
PAGE_STYLE = (
    f"""
{_LIGHT}
@media screen and (prefers-color-scheme: dark) {{ {_DARK} }}
"""
    + """
body { font: 15px/1.5 "DejaVu Sans", Verdana, "Segoe UI", Helvetica, Arial, sans-serif; color: var(--ink);
  background: var(--paper); margin: 0 auto; max-width: 62rem; padding: 0.8rem 1.5rem; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 1.2rem 0 0.4rem; } h2 { font-size: 1.15rem; margin: 1.6rem 0 0.3rem; }
p, li { max-width: 40rem; } td p, td li { max-width: none; }
a { color: var(--link); }
header { border-bottom: 1px solid var(--grey); margin-bottom: 0.8rem; padding-bottom: 0.3rem; font-size: 0.85rem; }
header p { margin: 0.2rem 0; } header .identity { font-weight: bold; max-width: none; }
header .warning { border-left: 4px solid var(--note); padding-left: 0.6rem; }
header .verdict { font-size: 1.6rem; }
footer { border-top: 2px solid var(--ink); margin-top: 2rem; font-size: 0.85rem; }
.output { overflow-x: auto; }
.output .answer { max-width: none; } .output .answer p { max-width: 54rem; }
table { border-collapse: collapse; margin: 0.6rem 0; font-variant-numeric: tabular-nums; font-size: 0.87rem; }
caption { padding: 0.3rem 0; }
th, td { padding: 0.15rem 0.6rem; border-bottom: 1px solid var(--grid); vertical-align: top; }
thead th { border-bottom: 1px solid var(--grey); }
table.seal th { text-align: left; white-space: nowrap; } table.seal td { overflow-wrap: anywhere; }
blockquote { border-left: 4px solid var(--note); margin: 0.8rem 0; padding: 0.1rem 1rem; background: var(--ground); }
img { max-width: 100%; height: auto; }
pre { white-space: pre-wrap; background: var(--ground); padding: 0.5rem; font-size: 0.8rem; overflow-wrap: anywhere; }
details { margin: 0.2rem 0; } summary { color: var(--grey); font-size: 0.87rem; cursor: pointer; }
code { overflow-wrap: anywhere; }
@media screen and (min-width: 75rem) { .output:has(> table.matrix) {
  width: min(94vw, 100rem); margin-left: calc(50% - min(47vw, 50rem)); } }
@media screen and (max-width: 36rem) {
  body { padding: 0.5rem; font-size: 14px; } table { font-size: 0.8rem; } th, td { padding: 0.1rem 0.3rem; }
  .output > img { max-width: none; width: 640px; }
  .answer { padding: 0.4em 0.6em !important; } .answer ul { padding-left: 1.2em; } .answer img { width: 60px; }
  .answer th, .answer td { white-space: normal !important; padding-right: 0.5em !important; } }
@page { margin: 16mm 14mm 18mm;
  @bottom-left { content: "IDENTITY"; font: 7.5pt sans-serif; color: #444; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 7.5pt sans-serif; color: #444; } }
@media print {
  body { font-size: 9.5pt; max-width: none; padding: 0; }
  nav, details.source { display: none; }
  details::details-content { content-visibility: visible; display: block; height: auto; }
  summary { list-style: none; }
  .output { overflow: visible; }
  table { font-size: 7.6pt; } th, td { padding: 0.8pt 4pt; }
  thead { display: table-header-group; } tr, img, blockquote, figure, .answer { break-inside: avoid; }
  h1, h2, h3, caption, section, summary, thead { break-after: avoid; } tbody tr:first-child { break-before: avoid; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""
)
