"""Axes that write SVG put everything where matplotlib's axes put it; ticks and legends keep within the plot."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from matplotlib.figure import Figure

from tests.support.places import DEMO
from vibcal_nb.display.drawing.vector_axes import VectorAxes
from vibcal_nb.display.drawing.vector_marks import ticks
from vibcal_nb.display.results.figures import drawing_of, figure_svg
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.perform.perform import perform

VISIT = DEMO / "STG-1" / "2026-05-19"
SVG = "{http://www.w3.org/2000/svg}"


def polyline(svg):
    root = ET.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{svg}</svg>')
    return np.array([pair.split(",") for pair in root.find(f".//{SVG}polyline").attrib["points"].split()], dtype=float)


@pytest.mark.parametrize("scale", ["linear", "log"])
def test_points_lie_where_matplotlib_puts_them(scale):
    x, y = np.array([2.0, 11.0, 30.0, 400.0]), np.array([-3.0, 0.0, 2.5, 1.0])
    figure = Figure(figsize=(300 / 72, 200 / 72), dpi=72)
    theirs = figure.add_axes((0.1, 0.2, 0.8, 0.7))
    ours = VectorAxes(left=30.0, top=20.0, width=240.0, height=140.0)
    for ax in (theirs, ours):
        ax.set(xlim=(1.0, 500.0), ylim=(-4.0, 4.0))
        if scale == "log":
            ax.set(xscale="log")
            ax.set(xlim=(1.0, 500.0))
        ax.plot(x, y, color="#0072B2")
    expected = theirs.transData.transform(np.column_stack([x, y])) * (1, -1) + (0, 200)
    assert polyline(ours.svg("plot0")) == pytest.approx(expected, abs=0.006)


def test_what_is_no_number_is_left_out():
    ax = VectorAxes(left=0.0, top=0.0, width=100.0, height=100.0)
    ax.plot([0.0, 0.5, 1.0], [0.0, np.nan, 1.0], color="#000000")
    assert polyline(ax.svg("plot0")).tolist() == [[0.0, 100.0], [100.0, 0.0]]


@pytest.mark.parametrize(("low", "high"), [(0.0, 21.3), (-8.0, 8.0), (-12.4, 1.5), (0.0, 3e-4), (99.5, 100.5)])
def test_ticks_are_round_within_the_limits_and_neither_many_nor_few(low, high):
    found = ticks(low, high, most=6)
    assert 2 <= len(found) <= 7
    assert low <= found[0] and found[-1] <= high + 1e-9
    steps = {round((b - a) / (high - low), 9) for a, b in itertools.pairwise(found)}
    assert len(steps) == 1


def test_ticks_of_a_logarithmic_axis_thin_out():
    assert ticks(8.0, 600.0, most=9, logarithmic=True) == [10.0, 20.0, 50.0, 100.0, 200.0, 500.0]
    assert ticks(1.6, 7000.0, most=9, logarithmic=True) == [5.0, 10.0, 50.0, 100.0, 500.0, 1000.0, 5000.0]
    assert ticks(1.6, 7000.0, most=4, logarithmic=True) == [10.0, 100.0, 1000.0]


@pytest.mark.parametrize("width", [243.0, 498.0])
@pytest.mark.parametrize("analysis", ["linearity", "band-response", "sensor-alone"])
def test_every_reading_is_drawn_and_every_text_lies_on_the_page(analysis, width):
    result = perform(load_visit(VISIT), channel="STG-1-V12", analysis=analysis, condition="as-left")
    root = ET.fromstring(figure_svg(result, width=width))
    marks = len(root.findall(f".//{SVG}circle")) + len(root.findall(f".//{SVG}polygon"))
    points = result.frequencies[0].points if analysis == "linearity" else result.points
    assert marks >= len(points) * (2 if analysis == "linearity" else 1)
    height = drawing_of(result).height_on_paper
    places = [(float(t.attrib["x"]), float(t.attrib["y"])) for t in root.iter(f"{SVG}text") if "x" in t.attrib]
    assert len(places) > 10
    for x, y in places:
        assert 0.0 <= x <= width and 0.0 < y <= height
