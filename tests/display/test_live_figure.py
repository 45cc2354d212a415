"""A figure drawn over and over shows what a new one would: nothing of an earlier result is left behind."""

from __future__ import annotations

import io

import matplotlib as mpl
import numpy as np
import pytest
from PIL import Image

from tests.support.running.panels import VISIT
from tests.support.sites.examples import example_of
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.display.drawing.picture import new_figure
from vibcal_nb.display.drawing.screen_png import encode_png
from vibcal_nb.display.results.figures import draw_into, drawing_of, make_axes
from vibcal_nb.display.results.live_figure import LiveFigure
from vibcal_nb.display.style import RC, SCREEN_DPI
from vibcal_nb.model.case import select_case


def picture(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"), dtype=float)


def results(test: str):
    visit, channel = example_of(test, "STG-1-V11")
    case = select_case(visit, channel=channel, test=test, condition="as-found")
    rows = [reading.row for reading in case.readings]
    analyse = ANALYSE[test]
    other = case.with_gap_curve(deviation_um=60.0) if test == "gap-curve" else case.with_applied_detector("rms")
    return analyse(case), analyse(case.with_excluded(rows[3:6])), analyse(other)


def drawn_at_once(result) -> bytes:
    """What matplotlib draws of a result in one go, as PNG."""
    with mpl.rc_context(RC):
        figure = new_figure(drawing_of(result).height(result))
        draw_into(result, make_axes(result, figure))
        stream = io.BytesIO()
        figure.savefig(stream, dpi=SCREEN_DPI)
    return stream.getvalue()


@pytest.mark.parametrize("test", ANALYSE)
def test_going_back_shows_the_first_picture_again(test):
    first, second, third = results(test)
    figure = LiveFigure()
    shown = figure.png(first)
    changed = figure.png(second)
    assert changed != shown
    figure.png(third)  # other limits: the frame is drawn anew
    assert figure.png(second) == changed
    assert figure.png(first) == shown


@pytest.mark.parametrize("test", ANALYSE)
def test_a_later_picture_is_that_of_a_new_figure(test):
    first, second, _ = results(test)
    figure = LiveFigure()
    figure.png(first)
    assert np.abs(picture(figure.png(second)) - picture(LiveFigure().png(second))).max() == 0.0


def test_longer_numbers_push_no_name_of_an_axis_off_the_picture():
    """The flat part of a sensor narrowed from 5 to 0.1 %: where the scale ended at 8 it ends at 1.5."""
    case = select_case(VISIT, channel="STG-1-V11", test="sensor-alone", condition="as-found")
    figure, wide, narrow = LiveFigure(), *(ANALYSE[case.test](case.with_sensor(flat_pct=pct)) for pct in (5.0, 0.1))
    for result in (wide, narrow, wide, narrow):
        assert (picture(figure.png(result))[:, :2] == 255.0).all()


def test_a_frequency_that_comes_or_goes_gets_its_own_axes():
    case = select_case(VISIT, channel="STG-1-V31", test="linearity", condition="as-found")
    both = ANALYSE["linearity"](case)
    one = ANALYSE["linearity"](
        case.with_excluded([r.row for r in case.readings if abs(r.frequency_hz - both.frequencies[0].frequency_hz) < 1])
    )
    figure = LiveFigure()
    assert picture(figure.png(both)).shape == picture(figure.png(one)).shape == picture(figure.png(both)).shape


def test_the_screens_png_is_read_back_as_it_was_written():
    """Pillow reads PNG (ISO/IEC 15948) independently of what wrote it."""
    pixels = np.random.default_rng(5).integers(0, 256, (37, 53, 4), dtype=np.uint8)
    read = np.asarray(Image.open(io.BytesIO(encode_png(pixels))))
    assert (read == pixels[..., :3]).all()


@pytest.mark.parametrize("test", ANALYSE)
def test_the_screens_picture_is_the_records_picture(test):
    """Kept frames and texts put together give what matplotlib draws at once, but for rounding where texts blend."""
    for result in results(test):
        apart = np.abs(picture(LiveFigure().png(result)) - picture(drawn_at_once(result)))
        assert np.quantile(apart, 0.999) <= 2.0
        assert (apart > 8.0).mean() < 5e-4
