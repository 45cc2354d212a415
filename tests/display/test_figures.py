"""Figures: every reading where its value puts it, filled or hollow by its verdict, every word within the picture."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.support.pictures import marks_in, marks_of_look, size_of, word_boxes, words_in
from tests.support.places import DEMO
from vibcal_nb.display.channel.part_plots import parts_picture
from vibcal_nb.display.channel.tests_plots import pictured_tests
from vibcal_nb.display.faults.fault_plots import explanation_picture
from vibcal_nb.display.planning.plan_plots import plan_picture
from vibcal_nb.display.results.budget_plots import budgets_picture
from vibcal_nb.display.results.figures import alternative_text, result_picture
from vibcal_nb.display.style import DARK, FAILED, INK, PAPER
from vibcal_nb.display.views import view_named
from vibcal_nb.display.waveforms.waveform_plots import waveforms_picture
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.conformity.decision import FAIL, PASS
from vibcal_nb.model.names import AS_FOUND, AS_LEFT, BAND_RESPONSE, CHANNEL_VERDICT, DRIFT, LINEARITY, SENSOR_ALONE
from vibcal_nb.notebook.planning import open_plan
from vibcal_nb.notebook.waveforms import drawn_records, open_waveforms
from vibcal_nb.records.perform.perform import perform

CASES = [
    ("STG-1/2026-05-19", "STG-1-V12", LINEARITY, AS_FOUND),  # fails at one speed
    ("STG-1/2026-05-19", "STG-1-V21", LINEARITY, AS_FOUND),  # two speeds
    ("STG-1/2025-04-29", "STG-1-V22", LINEARITY, AS_FOUND),  # bends
    ("FDF-3/2026-05-05", "FDF-3-V21", LINEARITY, AS_FOUND),  # with a guard band
    ("STG-1/2026-05-19", "STG-1-V21", BAND_RESPONSE, AS_FOUND),  # three failures
    ("BFP-2/2024-04-23", "BFP-2-A12", BAND_RESPONSE, AS_FOUND),  # no model fits
    ("FDF-3/2024-05-07", "FDF-3-V22", BAND_RESPONSE, AS_FOUND),  # no upper corner
    ("STG-1/2024-05-21", "STG-1-V32", SENSOR_ALONE, AS_FOUND),  # low, and falls
    ("BFP-2/2026-04-21", "BFP-2-A22", SENSOR_ALONE, AS_LEFT),
    ("STG-1/2026-05-19", "STG-1-V12", CHANNEL_VERDICT, AS_LEFT),
    ("BFP-2/2026-04-21", "BFP-2-A22", CHANNEL_VERDICT, AS_FOUND),
    ("FDF-3/2026-05-05", "FDF-3-V21", CHANNEL_VERDICT, AS_FOUND),  # sensor not alone
    ("STG-1/2026-05-19", "STG-1-V12", DRIFT, AS_FOUND),
    ("FDF-3/2026-05-05", "FDF-3-V11", DRIFT, AS_FOUND),
]


def done(visit, channel, analysis, condition):
    return perform(load_visit(DEMO / visit), channel=channel, analysis=analysis, condition=condition)


def pictures_of(result):
    yield result_picture(result)
    if result.case.test == CHANNEL_VERDICT:
        yield parts_picture(result)
        yield pictured_tests(result)
        if result.explanations is not None:
            yield explanation_picture(result.explanations, result.explanations.top, text="")


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(case[1:3]))
def test_every_word_lies_within_the_picture(case):
    for picture in pictures_of(done(*case)):
        width, height = size_of(picture.svg)
        outside = [
            word
            for word in word_boxes(picture.svg)
            if not (word.left >= 0.0 and word.right <= width and word.top >= 0.0 and word.bottom <= height)
        ]
        assert outside == []


def test_every_word_of_records_plans_and_budgets_lies_within_the_picture():
    visit = DEMO / "STG-1" / "2026-05-19"
    opened = open_waveforms({}, visit_folder=str(visit), tolerance_pct=0.5, append_to_table=False)
    plan = open_plan({}, visit_folder=str(visit), channel="STG-1-V21", shaker="", moving_mass_kg=0.0).plan
    budgets = view_named(LINEARITY).budgets(done("STG-1/2026-05-19", "STG-1-V21", LINEARITY, AS_FOUND))
    for picture in (waveforms_picture(drawn_records(opened)), plan_picture(plan), budgets_picture(budgets)):
        width, height = size_of(picture.svg)
        for word in word_boxes(picture.svg):
            assert word.left >= 0.0 and word.right <= width, word
            assert word.top >= 0.0 and word.bottom <= height, word


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(case[1:3]))
def test_no_number_of_an_axis_runs_into_the_next(case):
    for picture in pictures_of(done(*case)):
        numbers = [word for word in word_boxes(picture.svg) if word.text.replace("−", "").replace(".", "").isdigit()]
        for one, other in itertools.combinations(numbers, 2):
            apart = one.right < other.left or other.right < one.left or one.bottom < other.top or other.bottom < one.top
            assert apart, (one, other)


@pytest.mark.parametrize("case", CASES[:2], ids=lambda case: case[1])
def test_deviations_lie_on_one_straight_scale(case):
    result = done(*case)
    svg = result_picture(result).svg
    points = [point for item in result.frequencies for point in item.points]
    marks = marks_in(svg)
    assert len(marks) == 2 * len(points), "each deviation, and what the line leaves of it"
    values = sorted(point.value_pct for point in points)
    heights = sorted((y for _, y in marks), reverse=True)
    upper = sorted(y for y in heights if y < 220.0)[::-1]
    assert len(upper) == len(points)
    slope, start = np.polyfit(values, upper, 1)
    assert slope < 0.0
    assert np.polyval([slope, start], values) == pytest.approx(upper, abs=0.02)


def test_what_passes_is_filled_and_what_fails_is_hollow():
    result = done("STG-1/2026-05-19", "STG-1-V21", BAND_RESPONSE, AS_FOUND)
    svg = result_picture(result).svg
    verdicts = [point.verdict for point in result.points]
    assert {PASS, FAIL} <= set(verdicts)
    assert len(marks_of_look(svg, f"fill:{INK};stroke:{INK};stroke-width:1.2")) == 2 * verdicts.count(PASS)
    assert len(marks_of_look(svg, f"fill:{PAPER};stroke:{FAILED}")) == 2 * verdicts.count(FAIL)


def test_failures_are_named_with_their_limits():
    words = words_in(result_picture(done("STG-1/2026-05-19", "STG-1-V21", BAND_RESPONSE, AS_FOUND)).svg)
    assert [word for word in words if word.startswith("300 Hz: −26.7") and "allowed −18 to −8" in word]


def test_a_sensor_that_is_low_everywhere_is_seen_to_be():
    words = words_in(result_picture(done("BFP-2/2026-04-21", "BFP-2-A22", SENSOR_ALONE, AS_FOUND)).svg)
    assert "−13.6 ± 1.0 %" in words
    assert "−5 %" in words


def test_as_found_and_as_left_stand_on_the_same_scale():
    result = done("STG-1/2026-05-19", "STG-1-V12", CHANNEL_VERDICT, AS_LEFT)
    words = list(word_boxes(pictured_tests(result).svg))
    (found,) = [word for word in words if word.text == "linearity at 50 Hz, as found"]
    (left,) = [word for word in words if word.text == "linearity at 50 Hz, as left"]
    assert found.top == left.top
    limits = [word for word in words if word.text == "−5 %" and found.top < word.top < found.top + 100.0]
    assert len(limits) == 2
    assert limits[0].top == limits[1].top


def test_the_part_to_blame_is_outlined_and_named_in_words():
    picture = parts_picture(done("BFP-2/2026-04-21", "BFP-2-A22", CHANNEL_VERDICT, AS_FOUND))
    assert "outlined: sensor." in picture.text
    assert "sensor alone −13.7 ± 1.0 %" in picture.text


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(case[1:3]))
def test_every_colour_has_one_for_dark_screens(case):
    for picture in pictures_of(done(*case)):
        light, dark = picture.svg.split("@media(prefers-color-scheme:dark)")
        for colour in DARK:
            assert light.count(f":{colour}") == 0 or DARK[colour] in dark
        used = {part[:7] for part in light.split(":") if part.startswith("#")}
        assert used <= set(DARK), "a colour that a dark screen would show as on a light one"


def test_the_alternative_text_says_what_is_drawn_and_what_was_found():
    result = done("STG-1/2026-05-19", "STG-1-V12", LINEARITY, AS_FOUND)
    assert result_picture(result).text == alternative_text(result)
    assert "STG-1-V12, linearity, as found: fail" in alternative_text(result)
