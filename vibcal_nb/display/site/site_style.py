"""The style sheet of a site's answer, map and matrix; the page and JupyterLab show them alike."""

from __future__ import annotations

from vibcal_nb.display.style import GREY, PAPER, VERDICT_LOOKS
from vibcal_nb.metrology.conformity.decision import VERDICTS


def verdict_class(verdict: str) -> str:
    """Return the class that gives a cell of the map the look of a verdict."""
    return f"v{VERDICTS.index(verdict)}"


def _rule(verdict: str) -> str:
    look = VERDICT_LOOKS[verdict]
    ink, ground = (PAPER, look.colour) if look.filled else (look.colour, PAPER)
    named = f".{verdict_class(verdict)}"
    return (
        f".site .cell{named},.site .cell{named}:visited{{color:{ink};background:{ground};border-color:{look.colour}}}"
    )


# JupyterLab aligns cells to the right, by a rule of two classes; one that names as many comes after it and holds
SITE_STYLE = (
    "table.site.site th,table.site.site td{text-align:left;vertical-align:top;padding:.25em .6em;line-height:1.35}"
    "table.site.site .r{text-align:right}table.site.site .n{white-space:nowrap}table.site.site .w{min-width:14em}"
    "table.site.matrix{font-size:.8em}table.site.matrix th,table.site.matrix td{padding:.25em .3em}"
    f".site .strip{{margin:.2em 0 .8em}}.site .bearing{{display:inline-block;vertical-align:top;margin:0 1em .5em 0;"
    f"border-top:3px solid {GREY};padding-top:.2em}}.site .bearing p{{margin:0;font-size:.85em;max-width:16em}}"
    ".site .cell{display:inline-block;border:1px solid;border-radius:4px;padding:.05em .4em;margin:.1em .3em .1em 0;"
    "text-decoration:none;font-weight:bold;white-space:nowrap}.site .cell:hover{text-decoration:underline}"
    f".answer.site{{border:2px solid {GREY};border-radius:8px;padding:.6em 1.2em}}"
    ".answer.site h1{margin:0;font-size:1.25em}"
    ".answer.site p{margin:.4em 0}.answer.site .lead{font-size:1.35em}.answer.site li{font-size:1.1em}"
    + "".join(map(_rule, VERDICTS))
)
