"""The life of a channel as one page that needs nothing else: no network, no script, no font."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.life.channel_life import ChannelLife
from vibcal_nb.display.life.life_plots import life_picture
from vibcal_nb.display.life.life_tables import (
    answer_sentence,
    events_table,
    set_points_table,
    tests_table,
    visits_table,
)

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"
_STYLE = """
:root { color-scheme: light dark; }
body { font: 15px/1.5 "Segoe UI", Helvetica, Arial, sans-serif; margin: 0 auto; max-width: 66rem; padding: 1.5rem; }
h1 { font-size: 1.5rem; } p { max-width: 80ch; } img { max-width: 100%; height: auto; } .wide { overflow-x: auto; }
table { border-collapse: collapse; margin: 0.8rem 0; font-size: 0.92rem; }
caption { text-align: left; font-weight: 600; padding: 0.4rem 0; }
th, td { text-align: left; vertical-align: top; padding: 0.2rem 0.7rem 0.2rem 0; border-bottom: 1px solid #8886; }
th:first-child, td:first-child { white-space: nowrap; }
"""


_NOTE = (
    "<p>Every visit is judged anew from its readings, by what held on its day. Who signed is what the sign-offs say; "
    "whether their signatures count, the command verify finds out.</p><p>This informs a competent person. It replaces "
    "neither the maker's instructions, nor local codes, nor licensed practice, and by itself it is no accredited "
    "calibration.</p>"
)


def life_page(life: ChannelLife) -> str:
    """Return the page of a channel's life."""
    tables = (visits_table(life), tests_table(life), events_table(life), set_points_table(life))
    body = "".join(
        f"<div class=wide>{table.to_html()}</div>" if table.rows else f"<p>{escape(table.caption)}.</p>"
        for table in tables
    )
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(life.channel)} over the years</title><style>{_STYLE}</style></head><body><main>\n"
        f"<h1>{escape(life.channel)} over the years</h1><p>{escape(answer_sentence(life))}</p>\n"
        f"{life_picture(life).to_html()}\n{body}\n{_NOTE}</main></body></html>\n"
    )
