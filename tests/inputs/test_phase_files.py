"""Phases from files: the column, the limits, and what each mistake is told; the sheet asks for what is stated."""

from __future__ import annotations

import csv
import json
import shutil

import pytest

from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.inputs_used.visit_statement import read_visit_statement
from vibcal_nb.running.commands.cli import main

OPTIONS = ("--format", "csv", "--shaker", "SHK-1")
DAY, COIL = "2025-05-20", "AUX-4-C31"
PHASE = '[channels.AUX-4-C31.sensor.phase]\npolarity = "+"\nlimits = [{ hz = 80, min_deg = -10, max_deg = 15 }]\n'


@pytest.fixture
def site(tmp_path):
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, tmp_path)
    shutil.copytree(DEMO / "AUX-4", tmp_path / "AUX-4")
    return tmp_path


def add_phases(site, phase="8.5", *, rows=lambda row: row["channel"] == COIL and row["test"] == "sensor-alone", u=None):
    path = site / "AUX-4" / DAY / "readings.csv"
    with path.open(encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    for row in table:
        row["phase_deg"] = phase if rows(row) else ""
        if u is not None:
            row["phase_standard_uncertainty_deg"] = u if rows(row) else ""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(table[0]))
        writer.writeheader()
        writer.writerows(table)


def state(site, text):
    path = site / "AUX-4" / "asset.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n" + text, encoding="utf-8")


def refusal(site):
    with pytest.raises(InputRefused) as refused:
        load_visit(site / "AUX-4" / DAY)
    return "\n".join(problem.sentence for problem in refused.value.problems)


def test_phases_and_limits_are_read_and_read_back_from_a_record(site):
    add_phases(site, "-8.5", u="0.05")
    state(site, PHASE)
    visit = load_visit(site / "AUX-4" / DAY)
    case = select_case(visit, channel=COIL, test="sensor-alone", condition="as-found")
    assert (case.readings[0].phase_deg, case.readings[0].phase_decimals, case.readings[0].phase_u_deg) == (
        -8.5,
        1,
        0.05,
    )
    assert case.channel.sensor.phase.limits[0].max_deg == 15.0
    said = json.loads(json.dumps(state_test(case)))["visits"][0]
    again = read_visit_statement(said, site / "AUX-4" / DAY)
    assert again.table.readings == case.readings
    assert again.asset.channels[COIL] == case.channel


@pytest.mark.parametrize(
    ("phase", "said"),
    [
        ("eight", "column phase_deg: found 'eight'; give a number"),
        ("40000", "found '40000'; give a number of -36000 or more and up to 36000"),
    ],
)
def test_no_phase(site, phase, said):
    add_phases(site, phase)
    assert said in refusal(site)


def test_a_gap_and_a_direct_output_have_none(site):
    add_phases(site, "5", rows=lambda row: row["test"] == "gap-curve")
    assert "leave it empty: an output in V dc has no phase" in refusal(site)


def test_an_uncertainty_needs_its_phase(site):
    add_phases(site, "", u="0.1")
    assert "give the phase that phase_standard_uncertainty_deg belongs to" in refusal(site)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('polarity = "plus"', "found 'plus'; give one of +, -"),
        ("limits = [{ hz = 80, min_deg = 5, max_deg = -5 }]", "5 at or above max_deg -5; swap them"),
        ("limits = [{ hz = 80, min_deg = -200, max_deg = 200 }]", "give limits less than a whole turn apart"),
        ("delay_ms = [2.0, 1.0]", "delay_ms"),
        ("", "found nothing; give polarity, limits or delay_ms, or leave the table out"),
    ],
)
def test_limits_that_cannot_be(site, text, said):
    state(site, f"[channels.AUX-4-C31.phase]\n{text}\n")
    assert said in refusal(site)


def test_the_sheet_has_a_column_where_a_phase_is_stated(site):
    """The demo's moving coils state a phase, and its shaft probes none."""
    found = {}
    for tag, day in (("AUX-4-X11", "2027-05-01"), (COIL, "2027-05-02")):
        assert main(["sheet", str(site / "AUX-4" / day), "--channel", tag, *OPTIONS]) == 0
        found[tag] = next((site / "AUX-4" / day).glob("*.csv")).read_text(encoding="utf-8-sig")
    assert "phase_deg" not in found["AUX-4-X11"]
    assert "negative where the output lags" in found[COIL]
    assert "phase_deg" in next(line for line in found[COIL].splitlines() if line.startswith("channel,")).split(",")
