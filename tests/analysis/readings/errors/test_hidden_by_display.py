"""Warnings where a display hides more than all else: half a step to either side (JCGM 100:2008, F.2.2.1)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import make_case
from tests.support.sites.plants import EQUIPMENT, build_site
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.display.results.statements import compose_statement
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case

LEVELS = np.array([1.0, 2.0, 5.0, 10.0, 20.0])


def analyse(decimals, *, levels=LEVELS):
    case = make_case("linearity", np.full(len(levels), 50.0), 4.0 * levels, applied=levels)
    readings = tuple(
        replace(r, applied_decimals=a, output_decimals=3) for r, a in zip(case.readings, decimals, strict=True)
    )
    return analyse_linearity(replace(case, readings=readings))


def test_levels_without_decimals_are_warned_of():
    """A level written 1 is one from 0.5 to 1.5: 50 %; 20 one from 19.5 to 20.5: 2.5 %, more than all else."""
    result = analyse([0, 0, 0, 0, 0])
    found = result.hidden_by_display()
    assert found.rows == (2, 3, 4, 5, 6)
    assert (found.worst_row, found.worst_pct) == (2, pytest.approx(50.0, rel=1e-3))
    assert (
        "In 5 readings (rows 2, 3, 4, 5, 6) the last digit shown hides more than all else that is uncertain, about "
        "± 50 % in row 2: read on a finer range, write all digits, or state display_step"
    ) in compose_statement(result)


def test_three_digits_hide_too_little_to_be_warned_of():
    result = analyse([2, 2, 2, 1, 1])
    assert result.hidden_by_display() is None
    assert "last digit" not in compose_statement(result)


def test_one_reading_is_named_alone():
    result = analyse([1, 2, 2, 1, 1], levels=np.array([1.0, 20.0, 50.0, 100.0, 200.0]))
    assert result.hidden_by_display().rows == (2,)
    assert "In 1 reading (row 2) the last digit shown hides" in compose_statement(result)


def test_repeats_that_a_display_rounds_alike_are_warned_of():
    levels = np.repeat([10.0, 20.0], 3)
    levels = np.append(levels, [30.0])
    case = make_case("linearity", np.full(7, 50.0), 4.0 * levels, applied=levels, decimals=1)
    repeats = (1, 2, 3, 1, 2, 3, 1)
    case = replace(case, readings=tuple(replace(r, repeat=n) for r, n in zip(case.readings, repeats, strict=True)))
    assert "The repeat readings differ by no more than the displays round" in compose_statement(analyse_linearity(case))


def test_a_stated_display_step_takes_the_warning_away(tmp_path):
    rows = [f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4.05 * x:.3f},mV pk,,,," for x in (2, 5, 10, 15, 20)]
    said = 'kind = "reference accelerometer"'
    stated = EQUIPMENT.replace(said, f'{said}\ndisplay_step = 0.01\ndisplay_unit = "mm/s pk"')
    hidden = {}
    for name, equipment in (("digits", EQUIPMENT), ("stated", stated)):
        visit = load_visit(build_site(tmp_path / name, rows, equipment=equipment))
        case = select_case(visit, channel="STG-1-V11", test="linearity", condition="as-found")
        hidden[name] = analyse_linearity(case).hidden_by_display()
    assert hidden["digits"].rows == (2, 3, 4, 5, 6)
    assert hidden["stated"] is None
