"""One readout that reads level and output: their covariance at a point (ISO/TS 28037:2010, 8) takes its gain out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from GTC import ureal

from tests.support.readings.cases import CHANNEL, READOUT, REFERENCE, make_case
from tests.support.sites.plants import EQUIPMENT, build_site, linearity_rows
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.problems import InputRefused
from vibcal_nb.units import parse_unit

LEVELS = np.array([2.0, 5.0, 9.0, 14.0, 18.0])
ONE = replace(CHANNEL, rotors=CHANNEL.rotors[:1])
GAIN = 0.4  # %, standard uncertainty of a coarse readout


COARSE = replace(READOUT, expanded_pct=2 * GAIN)


def line(*, read_by, channel=ONE, readouts=(COARSE,)):
    case = make_case(
        "linearity", np.full(5, 50.0), channel.output_zero + 4.0 * LEVELS, applied=LEVELS, channel=channel, decimals=4
    )
    case = replace(case, references=(replace(REFERENCE, read_by=read_by),), readouts=readouts)
    return analyse_linearity(case).frequencies[0].line


def test_its_gain_cancels_in_the_sensitivity_as_gtc_says():
    gain = ureal(1.0, GAIN / 100.0)
    own_level, own_output = ureal(10.0, 0.05), ureal(40.0, 0.1)
    both, apart = (own_output * gain) / (own_level * gain), (own_output * gain) / own_level
    assert both.u == pytest.approx((own_output / own_level).u, rel=1e-12)
    assert apart.u**2 - both.u**2 == pytest.approx((4.0 * GAIN / 100.0) ** 2, rel=1e-6)
    one, two = line(read_by="DVM-1"), line(read_by=None)
    assert two.expanded.u**2 - one.expanded.u**2 == pytest.approx((4.0 * GAIN / 100.0) ** 2, rel=1e-6)


def test_the_budget_says_so():
    lines = {item.name: item for item in line(read_by="DVM-1").budget.lines}
    for name in ("readout gain", "readout drift"):
        assert lines[name].standard_uncertainty == 0.0
        assert lines[name].source == "DVM-1 reads level and output, so that it cancels in their ratio"


def test_it_counts_where_another_may_have_read_the_output_or_a_zero_is_read_besides():
    full = line(read_by=None).expanded.u
    assert line(read_by="OTHER").expanded.u == full
    two = (COARSE, replace(READOUT, id="DVM-2", expanded_pct=0.1))
    assert line(read_by="DVM-1", readouts=two).expanded.u == full
    live = replace(ONE, output_unit=parse_unit("mV dc"), output_zero=20.0)
    assert line(read_by="DVM-1", channel=live).expanded.u == line(read_by=None, channel=live).expanded.u


def test_it_is_stated_in_the_equipment_file(tmp_path):
    stated = EQUIPMENT.replace("[[readout]]", 'read_by = "DVM-1"\n[[readout]]')
    case = select_case(
        load_visit(build_site(tmp_path, linearity_rows(), equipment=stated)),
        channel="STG-1-V11",
        test="linearity",
        condition="as-found",
    )
    assert case.references[0].read_by == "DVM-1"
    (item,) = analyse_linearity(case).frequencies
    assert math.isfinite(item.line.expanded.u)
    with pytest.raises(
        InputRefused, match=r"found 'DVM-9' at REF-1; give the id of a \[\[readout\]\], or leave it out"
    ):
        load_visit(build_site(tmp_path, linearity_rows(), equipment=stated.replace('"DVM-1"\n[[', '"DVM-9"\n[[')))
