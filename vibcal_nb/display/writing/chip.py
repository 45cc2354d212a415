"""A verdict as a chip: its mark and word on a ground of their own, so that they read on light, on dark and in grey.

A pass is filled, a fail hollow: grey print tells them. The colours have 4.5 : 1 against the chip's own ground
(WCAG 2.2, 1.4.3), whatever stands around it.
"""

from __future__ import annotations

from html import escape

from vibcal_nb.display.style import PAPER, VERDICT_LOOKS, verdict_text


def chip_html(verdict: str) -> str:
    """Return a verdict's mark and word as a chip; what is no verdict stays a word."""
    look = VERDICT_LOOKS.get(verdict)
    if look is None:
        return escape(verdict)
    ink, ground = (PAPER, look.colour) if look.filled else (look.colour, PAPER)
    style = f"color: {ink}; background-color: {ground}; border: 1px solid {look.colour}; border-radius: 4px"
    text = escape(verdict_text(verdict)).replace(" ", "&nbsp;")
    return f'<b style="{style}; padding: 0 0.4em; white-space: nowrap">{text}</b>'
