"""The letters that a picture brings along are those of DejaVu Sans, as wide as matplotlib takes them to be."""

from __future__ import annotations

import base64
import io

import pytest
from fontTools.ttLib import TTFont
from matplotlib import get_data_path
from matplotlib.ft2font import FT2Font, LoadFlags

from vibcal_nb.display.drawing.lettering import NAME, letters_style


def brought(style: str) -> TTFont:
    prefix = f"@font-face{{font-family:{NAME};src:url(data:font/woff;base64,"
    assert style.startswith(prefix)
    return TTFont(io.BytesIO(base64.b64decode(style.removeprefix(prefix).removesuffix(")}"))))


@pytest.mark.parametrize("characters", ["", "Ж Ω ł"])
def test_each_letter_is_there_and_as_wide_as_in_the_whole_type(characters):
    font = brought(letters_style(characters))
    whole = FT2Font(f"{get_data_path()}/fonts/ttf/DejaVuSans.ttf")
    widths, names = font["hmtx"].metrics, font.getBestCmap()
    for character in f"0123456789 azAZ ±−µ√Δ✓✗ₙ{characters}":
        glyph = whole.load_char(ord(character), flags=LoadFlags.NO_SCALE)
        own = widths[names[ord(character)]][0] / font["head"].unitsPerEm
        assert own == pytest.approx(glyph.horiAdvance / whole.units_per_EM, abs=0.001), character


def test_letters_are_few_enough_to_travel_with_every_picture():
    assert len(letters_style("")) < 10_000


def test_the_same_letters_are_the_same_text():
    assert letters_style("ab") == letters_style("ba")
