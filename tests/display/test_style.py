"""Words are legible on light and dark, and verdicts tell without colour.

WCAG 2.2, 1.4.3 (contrast of text 4.5 : 1) and 1.4.11 (of what is no text 3 : 1); the formula is that of its
definitions of contrast ratio and relative luminance.
"""

from __future__ import annotations

import pytest

from vibcal_nb.display import style

WORDS = [style.INK, style.GREY, style.LIMIT, style.FAILED, style.PASSED, style.DOUBTED, style.SET_POINT]


def luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_what_its_definition_names():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("word", WORDS)
@pytest.mark.parametrize("ground", [style.PAPER, style.ALLOWED])
def test_words_and_marks_are_legible_on_light_and_on_dark(word, ground):
    assert contrast(word, ground) >= 4.5
    assert contrast(style.DARK[word], style.DARK[ground]) >= 4.5


def test_every_verdict_has_a_mark_of_its_own():
    looks = style.VERDICT_LOOKS.values()
    assert len({look.symbol for look in looks}) == len({look.marker for look in looks}) == len(style.VERDICT_LOOKS)
