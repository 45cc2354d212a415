"""A picture is read back from an output as it was drawn; one that could fetch or run anything is not."""

from __future__ import annotations

import pytest

from vibcal_nb.display.drawing.kept_pictures import pictures_in
from vibcal_nb.display.drawing.picture import Picture, draw_picture


def test_a_picture_is_read_back_as_it_was_drawn():
    text = 'level "x" < 5 % & #3'
    drawn = draw_picture(1.0, lambda figure: figure.add_axes((0.1, 0.1, 0.8, 0.8)).plot([0.0, 1.0], "o-"), text=text)
    (kept,) = pictures_in(f"<p>{text.replace('<', '&lt;')}</p>{drawn.to_html()}<p>after</p>")
    assert kept.text == text
    assert kept.svg == drawn.svg.replace('"', "'")


@pytest.mark.parametrize(
    "inner",
    [
        "<script>alert(1)</script>",
        "<image href='file:///etc/passwd'/>",
        "<use href='other.svg#x'/>",
        "<path d='M0 0' onload='alert(1)'/>",
        "<foreignObject><p xmlns='http://www.w3.org/1999/xhtml'>x</p></foreignObject>",
        "<style>@import 'x.css'</style>",
        "<style>path{fill:url(x.svg#y)}</style>",
        "<style>path{fill:\\75rl(x.svg#y)}</style>",
        "<path style='fill:url(x.svg#y)' d='M0 0'/>",
        "<path d='M0 0'>",
    ],
)
def test_a_picture_that_holds_more_than_lines_marks_and_words_is_left_out(inner):
    plain = Picture(svg="<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0'/></svg>", text="plain")
    other = Picture(svg=f"<svg xmlns='http://www.w3.org/2000/svg'>{inner}</svg>", text="other")
    assert list(pictures_in(other.to_html() + plain.to_html())) == [plain]


def test_an_entity_is_left_out():
    svg = "<!DOCTYPE svg [<!ENTITY a 'aaaa'>]><svg xmlns='http://www.w3.org/2000/svg'><text>&a;</text></svg>"
    assert list(pictures_in(Picture(svg=svg, text="x").to_html())) == []
