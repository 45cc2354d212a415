"""The comparison's notebook calls: records or readings by their places, both in one table and one figure."""

from __future__ import annotations

import shutil

import numpy as np
import pytest

from tests.support.kept.channel_report import keep_results
from tests.support.kept.sealed_record import ENTRY, executed, keep
from tests.support.places import DEMO, GOLDEN
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT
from vibcal_nb.notebook.compare import open_comparison
from vibcal_nb.notebook.show import show_compare
from vibcal_nb.problems import ParameterError, Refused

VISITS = DEMO / "STG-1"
PLACE = "STG-1-V12/linearity.as-found"


def opened(record, other=""):
    return open_comparison({"record": str(record), "other": str(other)})


@pytest.fixture(scope="module")
def two_visits():
    return opened(VISITS / "2025-04-29" / PLACE, VISITS / "2026-05-19" / PLACE)


@pytest.fixture
def shown(monkeypatch):
    found = []
    monkeypatch.setattr("vibcal_nb.notebook.show.show.html", lambda content, text: found.append((content, text)))
    return found


def test_two_visits_readings_are_compared_as_their_results_have_it(two_visits):
    """The slope of an unweighted straight line through the typed rows, by NumPy, is near that of the judged one."""
    slopes = []
    for day in ("2025-04-29", "2026-05-19"):
        case = select_case(load_visit(VISITS / day), channel="STG-1-V12", test="linearity", condition="as-found")
        slopes.append(np.polyfit([r.applied for r in case.readings], [r.output for r in case.readings], 1)[0])
    (change,) = [c for c in two_visits.numbers if c.what == "at 50 Hz, sensitivity"]
    assert [change.before, change.after] == pytest.approx(slopes, rel=1e-3)
    assert two_visits.verdicts == ("pass", "fail")
    assert "record, visit: from 2025-04-29 to 2026-05-19" in two_visits.subject


def test_what_is_made_from_readings_is_what_a_record_of_them_holds(tmp_path):
    place = "2026-05-05/FDF-3-V11/linearity.as-found"
    keep_results(
        load_visit(DEMO / "FDF-3" / "2026-05-05"), tmp_path, channel="FDF-3-V11", without=(DRIFT, CHANNEL_VERDICT)
    )
    found = opened(tmp_path / "FDF-3-V11" / "linearity.as-found", DEMO / "FDF-3" / place)
    assert found.same_numbers > 50
    assert found.is_empty


def test_a_record_of_years_ago_is_compared_with_its_visit_as_the_site_states_it_now():
    """The record was made by ``run`` of an earlier version; since then the site states the limits otherwise."""
    place = "2026-05-05/FDF-3-V11/linearity.as-found"
    found = opened(GOLDEN / "schema_2" / "FDF-3" / place, DEMO / "FDF-3" / place)
    assert "limits of the channel, tolerance, span_pct: from nothing to 0.5" in found.made_from
    assert all(said.startswith("limits of the channel, ") for said in found.made_from)
    assert "at 24.75 Hz, readings 1 to 6, scale: from reading to span" in found.said
    assert found.made_with + found.signed + found.cells + found.subject == ()


def test_a_record_alone_is_compared_with_the_revision_that_it_replaced(tmp_path):
    keep(tmp_path)
    path = keep(tmp_path, executed({**ENTRY, "verdict": "fail"}))
    assert opened(path.with_suffix("")).verdicts == ("pass", "fail")


def test_the_answer_shows_both_verdicts_and_the_largest_change(two_visits, shown):
    show_compare.answer(two_visits)
    ((content, text),) = shown
    assert content.index("pass") < content.index("fail")
    whole = [c for c in two_visits.numbers if c.against_u is not None and "reading" not in c.what]
    largest = max(whole, key=lambda c: abs(c.against_u))
    assert f"The largest change against its U, single readings apart: {largest.what}" in text
    assert "of which no record is at hand" in text


def test_every_number_stands_in_a_table(two_visits, shown):
    show_compare.numbers(two_visits)
    ((content, _),) = shown
    heads = content.count("<thead>")
    assert content.count("<tr>") - heads == len(two_visits.numbers)
    assert "change / U" in content


def test_two_that_are_alike_say_so_and_without_a_common_scale_there_is_no_figure(tmp_path, shown):
    one, other = keep(tmp_path / "a"), keep(tmp_path / "b")
    comparison = opened(one, other)
    for call in (show_compare.answer, show_compare.figure, show_compare.numbers, show_compare.differences):
        call(comparison)
    texts = [text for _, text in shown]
    assert "Nothing differs that the records state." in texts[0]
    assert texts[1] == "No figure: the two hold no readings on one scale."
    assert texts[3] == "Nothing differs that the records state."


def test_a_text_of_a_file_cannot_act_in_the_notebook(tmp_path, shown):
    one, other = keep(tmp_path / "a"), keep(tmp_path / "b", executed({**ENTRY, "verdict": "<script>alert(1)</script>"}))
    comparison = opened(one, other)
    for call in (show_compare.answer, show_compare.figure, show_compare.numbers, show_compare.differences):
        call(comparison)
    assert all("<script" not in content for content, _ in shown)


def test_a_place_with_nothing_there_and_readings_alone_are_refused(tmp_path):
    with pytest.raises(ParameterError, match="and no record is there; give a record"):
        opened(tmp_path / PLACE)
    with pytest.raises(ParameterError, match="readings replaced no revision; give a second place"):
        opened(VISITS / "2026-05-19" / PLACE)
    with pytest.raises(ParameterError, match="give a text in quotes"):
        opened("")
    with pytest.raises(ParameterError, match="no parameter 'recrod'"):
        open_comparison({"record": "x", "other": "", "recrod": "y"})


def test_a_visit_without_such_readings_names_those_that_it_holds(tmp_path):
    where = VISITS / "2026-05-19" / "STG-1-V12" / "linearity.as-lost"
    with pytest.raises(Refused, match=r"no readings for STG-1-V12/linearity.as-lost; there are STG-1-V12/linearity"):
        opened(where, where)


def test_an_altered_record_is_not_compared(tmp_path):
    path = keep(tmp_path / "a")
    copied = tmp_path / "b.ipynb"
    shutil.copy(path, copied)
    path.write_bytes(path.read_bytes().replace(b"20.12", b"20.13", 1))
    with pytest.raises(Refused, match="see verify"):
        opened(copied, path)
