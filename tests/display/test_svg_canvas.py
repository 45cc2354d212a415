"""Pictures: every point where matplotlib's scales put it, nothing outside its axes, the same text each time."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.pictures import marks_in, outlines_in, points_of, words_in
from vibcal_nb.display.drawing.picture import draw_picture

HEIGHT = 2.0  # inches, of 72 points


def drawn(draw, **options):
    """A picture with one plot that has neither axes nor grid, and where matplotlib puts points of it."""
    kept = {}

    def both(figure):
        ax = figure.add_axes((0.1, 0.2, 0.8, 0.7))
        ax.set_axis_off()
        draw(ax)
        kept["place"] = lambda x, y: ax.transData.transform(np.column_stack([x, y])) * (1, -1) + (0, 72 * HEIGHT)

    return draw_picture(HEIGHT, both, text="a picture", **options), kept["place"]


@pytest.mark.parametrize("scale", ["linear", "log"])
def test_marks_and_lines_lie_where_matplotlib_puts_them(scale):
    x, y = np.array([2.0, 11.0, 30.0, 400.0]), np.array([-3.0, 0.0, 2.5, 1.0])

    def draw(ax):
        ax.set(xscale=scale, xlim=(1.0, 500.0), ylim=(-4.0, 4.0))
        ax.plot(x, y, marker="o")

    picture, place = drawn(draw)
    assert marks_in(picture.svg) == pytest.approx(place(x, y), abs=0.006)
    assert points_of(outlines_in(picture.svg)[-1]) == pytest.approx(place(x, y), abs=0.006)


def test_what_lies_outside_its_axes_is_cut_off():
    def draw(ax):
        ax.set(xlim=(0.0, 10.0), ylim=(0.0, 10.0))
        ax.plot([-5.0, 5.0, 15.0], [5.0, 5.0, 5.0], marker="o")
        ax.fill_between([2.0, 20.0], -3.0, 4.0)
        ax.axhspan(8.0, 30.0)

    picture, place = drawn(draw)
    (left, low), (right, top) = place([0.0, 10.0], [0.0, 10.0])
    assert marks_in(picture.svg) == pytest.approx(place([5.0], [5.0]), abs=0.006)
    points = np.array([point for outline in outlines_in(picture.svg)[1:] for point in points_of(outline)])
    assert len(points) >= 10
    assert points.min(axis=0) == pytest.approx([left, top], abs=0.02)
    assert points.max(axis=0) == pytest.approx([right, low], abs=0.02)


def test_what_is_no_number_leaves_a_gap():
    def draw(ax):
        ax.set(xlim=(0.0, 4.0), ylim=(0.0, 1.0))
        ax.plot([0.0, 1.0, 2.0, 3.0, 4.0], [0.5, 0.6, np.nan, 0.6, 0.5])

    outline = outlines_in(drawn(draw)[0].svg)[-1]
    assert outline.count("M") == 2
    assert len(points_of(outline)) == 4


def test_the_same_figure_is_the_same_text():
    def draw(ax):
        ax.plot(np.linspace(0.0, 9.0, 50), np.sin(np.linspace(0.0, 9.0, 50)), marker="D", label="sine")
        ax.legend()

    assert drawn(draw)[0].svg == drawn(draw)[0].svg


def test_words_stay_words_whatever_they_hold():
    hostile = "<b>$\\frac{1}{0}$ & \"x\" 'y' # % ±"
    picture, _ = drawn(lambda ax: ax.text(0.5, 0.5, hostile))
    assert words_in(picture.svg) == [hostile]


def test_a_line_of_a_word_stands_where_it_is_held():
    def draw(ax):
        ax.set(xlim=(0.0, 2.0), ylim=(0.0, 2.0))
        for number, side in enumerate(("left", "center", "right")):
            ax.text(1.0, number, "held", ha=side)

    picture, place = drawn(draw)
    (x, _), *_ = place([1.0], [1.0])
    assert picture.svg.count(f'x="{x:g}"') == 3
    assert picture.svg.count("text-anchor:") == 2


def test_colours_that_have_one_for_dark_screens_bring_it_along():
    picture, _ = drawn(lambda ax: ax.plot([0.0, 1.0], [0.0, 1.0], color="#222222"))
    light, dark = picture.svg.split("@media(prefers-color-scheme:dark)")
    assert "stroke:#222222" in light
    assert "stroke:#e6e6e6" in dark
