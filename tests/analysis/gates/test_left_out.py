"""Readings that are excluded, rows that were planned and not read: counted, and no way to choose a verdict."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, make_case
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.model.channel_case import select_channel_case
from vibcal_nb.model.readings import PendingRow

LEVELS = np.array([2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 19.0, 20.0])
ONE = replace(CHANNEL, rotors=CHANNEL.rotors[:1])


def analyse(gains, *, levels=LEVELS, exclude=None, pending=()):
    outputs = 4.0 * levels * np.asarray(gains)
    case = make_case("linearity", np.full(len(levels), 50.0), outputs, applied=levels, channel=ONE, exclude=exclude)
    return analyse_linearity(replace(case, pending=pending))


def failing_at(*places, size=11, gain=0.9):
    gains = np.ones(size)
    gains[list(places)] = gain
    return gains


def test_four_of_eleven_failing_readings_excluded_make_no_pass():
    rows = (1, 4, 7, 10)
    result = analyse(failing_at(*rows), exclude=dict.fromkeys(rows, "looked odd"))
    assert result.verdict == "not verified"
    (gate,) = result.gates
    assert gate.found == (
        "4 of 11 readings are excluded (rows 3, 6, 9, 12) and not taken anew; with them the test would fail"
    )
    statement = compose_statement(result)
    assert "4 of 11 readings are excluded (rows 3, 6, 9, 12); with them the verdict would be fail" in statement


def test_an_excluded_reading_that_was_taken_anew_is_counted_and_no_more():
    levels = np.append(LEVELS, 12.1)
    result = analyse(failing_at(5, size=12), levels=levels, exclude={5: "cable touched"})
    assert (result.verdict, result.gates) == ("pass", ())
    assert "1 of 12 readings is excluded (row 7); with it the verdict would be fail" in compose_statement(result)


def test_an_excluded_reading_that_changes_nothing_is_counted():
    result = analyse(np.ones(11), exclude={5: "written twice"})
    assert (result.verdict, result.gates) == ("pass", ())
    assert "with it the verdict would be the same" in compose_statement(result)
    assert "excluded" not in compose_statement(analyse(np.ones(11)))


def test_of_a_failing_test_the_failure_stays_the_verdict():
    result = analyse(failing_at(2, 3), exclude={3: "looked odd"})
    assert (result.verdict, result.gates) == ("fail", ())


def test_a_planned_row_without_an_output_keeps_a_pass_from_being_said():
    row = PendingRow(row=13, channel="STG-1-V11", test="linearity", condition="as-found")
    result = analyse(np.ones(11), pending=(row,))
    assert (result.verdict, [gate.gate for gate in result.gates]) == ("not verified", ["rows not read"])
    given_up = analyse(np.ones(11), pending=(replace(row, exclude="the shaker does not reach it"),))
    assert (given_up.verdict, given_up.gates) == ("pass", ())
    assert "1 planned row was given up, with the reason (row 13)" in compose_statement(given_up)


@pytest.mark.parametrize("reason", ["", "not reached"])
def test_a_table_whose_failing_output_was_emptied_says_so_up_to_the_channel(tmp_path, reason):
    rows = linearity_rows()
    rows.append(f"STG-1-V11,linearity,as-found,50,18.0,mm/s pk,,mV pk,,,{reason},")
    folder = load_visit(build_site(tmp_path, rows))
    result = analyse_linearity(select_case(folder, channel="STG-1-V11", test="linearity", condition="as-found"))
    channel = analyse_channel(select_channel_case(folder, channel="STG-1-V11", condition="as-found"))
    assert (result.verdict == "pass") == bool(reason)
    assert ("rows not read" in [gate.gate for gate in channel.gates]) != bool(reason)
    said = compose_statement(channel)
    assert ("Linearity: 1 planned row was given up" in said) == bool(reason)
    assert ("1 planned row has no output (row 7): read them" in said) != bool(reason)
