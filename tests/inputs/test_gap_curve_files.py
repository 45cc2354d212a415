"""A gap curve from its files: rows, keys and equipment, and what each mistake is told."""

from __future__ import annotations

import json
import shutil

import pytest

from tests.support.places import DEMO
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.model.names import GAP_CURVE
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.inputs_used.visit_statement import read_visit_statement

DAY = "2026-06-02"


@pytest.fixture
def site(tmp_path):
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, tmp_path)
    shutil.copytree(DEMO / "AUX-4", tmp_path / "AUX-4")
    return tmp_path


def change(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def refusal(site):
    with pytest.raises(InputRefused) as refused:
        load_visit(site / "AUX-4" / DAY)
    return "\n".join(problem.sentence for problem in refused.value.problems)


def test_a_reading_has_a_gap_and_no_frequency(site):
    case = select_case(load_visit(site / "AUX-4" / DAY), channel="AUX-4-X11", test=GAP_CURVE, condition="as-found")
    first = case.readings[0]
    assert (first.frequency_hz, first.applied_unit.text, first.applied_unit.detector) == (0.0, "mm", "")
    assert first.output < 0.0
    assert [item.id for item in case.references] == ["MIC-26"]
    assert case.channel.gap_curve.nominal_sensitivity == -7.87


def test_what_a_record_states_of_it_is_read_back(site):
    case = select_case(load_visit(site / "AUX-4" / DAY), channel="AUX-4-X21", test=GAP_CURVE, condition="as-found")
    said = json.loads(json.dumps(state_test(case)))["visits"][0]
    again = read_visit_statement(said, site / "AUX-4" / DAY)
    assert again.table.readings == case.readings
    assert again.references == case.references
    assert again.asset.channels["AUX-4-X21"] == case.channel


@pytest.mark.parametrize("blank", ["", "0", "0.00"])
def test_no_frequency_is_left_empty_or_0(site, blank):
    table = site / "AUX-4" / DAY / "readings.csv"
    change(table, "gap-curve,as-found,,0.25", f"gap-curve,as-found,{blank},0.25")
    load_visit(site / "AUX-4" / DAY)


def test_a_table_of_gap_curves_alone_needs_no_column_of_frequencies(site):
    table = site / "AUX-4" / DAY / "readings.csv"
    rows = [line.split(",") for line in table.read_text(encoding="utf-8").splitlines()]
    kept = [",".join([*row[:3], *row[4:]]) for row in rows if row[1] in ("test", "gap-curve")]
    table.write_text("\n".join(kept) + "\n", encoding="utf-8")
    assert {reading.test for reading in load_visit(site / "AUX-4" / DAY).table.readings} == {"gap-curve"}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("gap-curve,as-found,,0.25", "gap-curve,as-found,50,0.25", "nothing vibrates in a gap-curve"),
        (",0.25,mm,", ",0.25,mm pkpk,", "a length without a detector"),
        (",0.25,mm,", ",0.25,V,", "a length without a detector"),
        (",0.25,mm,", ",0.25,,", "give a length without a detector"),
        (",0.25,mm,", ",-0.25,mm,", "of 0 or more"),
        ("V dc,rising", "mV pk,rising", "a voltage in V or mV with detector dc"),
        ("V dc,rising", "V dc,up", "rising, falling"),
        ("as-found,24.83", "as-found,", "frequency_hz"),
    ],
)
def test_each_mistake_in_a_row_is_told(site, old, new, told):
    change(site / "AUX-4" / DAY / "readings.csv", old, new)
    assert told in refusal(site)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('input_unit = "mm"\noutput_unit = "V dc"', 'input_unit = "mm pk"\noutput_unit = "V dc"', "without a detector"),
        ('input_unit = "mm"\noutput_unit = "V dc"', 'input_unit = "mm"\noutput_unit = "V pk"', "direct voltage"),
        ("nominal_sensitivity = -7.87", "nominal_sensitivity = 0", "the slope of the curve with its sign"),
        ("range = [0.25, 2.25]", "range = [2.25, 0.25]", "two ascending numbers"),
        ("step = 0.25", "steps = 0.25", "unknown key"),
    ],
)
def test_each_mistake_in_the_channels_table_is_told(site, old, new, told):
    change(site / "kinds.toml", old, new)
    assert told in refusal(site)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("expanded_um = 2.0\nk = 2", "expanded_um = 2.0", "give it beside expanded_um"),
        ("expanded_um = 2.0\nk = 2", "k = 2", "give one of uncertainty and expanded_um"),
        (
            'quantity = "displacement"',
            'quantity = "vibration"',
            "an uncertainty in um of another quantity than displacement",
        ),
    ],
)
def test_each_mistake_in_the_micrometers_entry_is_told(site, old, new, told):
    change(site / "equipment.toml", old, new)
    assert told in refusal(site)
