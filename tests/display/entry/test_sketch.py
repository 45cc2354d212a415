"""The sketch of the readings so far: each has its mark within the picture, whatever it departs by."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from hypothesis import given, settings
from hypothesis import strategies as st

from vibcal_nb.display.entry.coming_off import duration
from vibcal_nb.display.entry.sketch import HEIGHT, WIDTH, Mark, sketch_svg
from vibcal_nb.display.entry.waveform_sketch import waveform_svg

marks = st.lists(
    st.builds(
        Mark,
        at=st.floats(0.01, 20_000.0),
        off_pct=st.floats(-1e6, 1e6),
        low=st.floats(-50.0, -0.1),
        high=st.floats(0.1, 50.0),
        now=st.booleans(),
    ),
    min_size=1,
    max_size=30,
)


@given(marks=marks, logarithmic=st.booleans())
@settings(deadline=None, max_examples=60)
def test_every_reading_has_its_mark_within_the_picture(marks, logarithmic):
    svg = ET.fromstring(sketch_svg(marks, over="level, <mm/s>", logarithmic=logarithmic, lines=[("alert", 3.0)]))
    circles = [item for item in svg if item.tag == "circle"]
    assert len(circles) == len(marks)
    assert all(0.0 <= float(c.get("cx")) <= WIDTH and 0.0 <= float(c.get("cy")) <= HEIGHT for c in circles)
    outside = sum("out" in c.get("class").split() for c in circles)
    assert outside == sum(not mark.low <= mark.off_pct <= mark.high for mark in marks)
    assert svg.get("aria-label").startswith(f"{len(marks)} readings so far, {outside} outside their limits.")


def test_nothing_read_is_no_picture():
    assert sketch_svg([], over="level", logarithmic=False) == ""


def test_a_waveform_shows_five_cycles_of_each_signal():
    import numpy as np

    t = np.arange(5000) / 1000.0
    svg = waveform_svg(
        np.sin(2 * np.pi * 10.0 * t), t * 0.0, start=0, sampling_hz=1000.0, frequency_hz=10.0, text="two signals"
    )
    lines = re.findall(r' d="M([^"]+)"', svg)
    assert len(lines) == 2
    heights = np.array([float(point.split()[1]) for point in lines[0].split("L")])
    middle = heights - 36.0
    assert np.sum((middle[:-1] < 0.0) & (middle[1:] >= 0.0)) == 5  # in the midst of each cycle


def test_how_long_it_takes_is_said_as_one_says_it():
    assert [duration(s) for s in (3.0, 600.0, 5340.0, 9000.0)] == ["1 min", "10 min", "89 min", "2.5 h"]
