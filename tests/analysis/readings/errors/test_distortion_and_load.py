"""Distortion by the detector, and what a shaker and its load give: sizes, sources, and the way from the files.

Detectors: closed forms (see metrology/sine). That transverse motion acts by transverse sensitivity, and that payload
and overhang matter: common practice, no source; the sizes are judgement, and stated as such.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, make_case
from tests.support.sites.plants import ASSET, EQUIPMENT, HEADINGS, VISIT, build_site
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.reading_uncertainty import assess_readings
from vibcal_nb.analysis.readings.scaled_readings import scale_readings
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.model.equipment import Shaker
from vibcal_nb.model.visit import Contribution
from vibcal_nb.units import parse_unit

HZ = np.array([40.0, 80.0, 160.0])


def lines_of(case, hz=80.0):
    return {line.name: line for line in assess_readings(case, scale_readings(case)).at_frequency(hz)}


def case_of(*, units=None, **shares):
    case = make_case("band-response", HZ, np.full(3, 40.0), units=units)
    readings = (case.readings[0], replace(case.readings[1], **shares), case.readings[2])
    return replace(case, readings=readings)


@pytest.mark.parametrize(
    ("units", "channel_unit", "pct", "said"),
    [
        (("mm/s rms", "mV rms"), "mV pk", 0.02, "a rms detector sees half its square"),
        (("mm/s pk", "mV pk"), "mV pk", 2.5, "a pk detector sees up to the sum of harmonics"),
    ],
)
def test_measured_distortion_counts_by_the_detector_at_its_frequency(units, channel_unit, pct, said):
    unit = parse_unit(units[1])
    channel = replace(CHANNEL, output_unit=unit)
    case = replace(case_of(units=units, thd_pct=2.0, harmonics_pct=2.5), channel=channel)
    line = lines_of(case)["distortion"]
    assert line.value == pytest.approx(pct, rel=2e-3)
    assert line.source == f"THD 2 % measured at this frequency; {said}"
    assert lines_of(case, 40.0)["distortion"].source.startswith("judgement")
    assert parse_unit(channel_unit).detector == "pk"


def test_a_transmitter_detects_by_itself():
    """Output in mA dc for mm/s rms: the channel's own r.m.s. detector; for mm/s pk its peak detector."""
    for unit, pct in (("mm/s rms", 0.02), ("mm/s pk", 2.0 * math.sqrt(2.0))):
        channel = replace(CHANNEL, input_unit=parse_unit(unit), output_unit=parse_unit("mA dc"), output_zero=4.0)
        case = make_case("band-response", HZ, np.full(3, 12.0), channel=channel)
        measured = replace(case.readings[1], thd_pct=2.0, u_pct=0.1)  # from samples: the detector is in the channel
        case = replace(case, readings=(case.readings[0], measured, case.readings[2]))
        assert lines_of(case)["distortion"].value == pytest.approx(pct, rel=2e-3)


def test_a_sine_approximation_of_an_alternating_output_reads_the_fundamental():
    line = lines_of(case_of(thd_pct=5.0, harmonics_pct=6.0, u_pct=0.05))["distortion"]
    assert line.value == 0.0
    assert line.source == "none: the sine approximation reads the fundamental alone"


def test_a_shakers_stated_distortion_stands_where_none_was_measured():
    case = replace(case_of(thd_pct=0.5, harmonics_pct=0.5), shakers=(Shaker(id="SHK-1", thd_pct=3.0),))
    assert lines_of(case)["distortion"].value == pytest.approx(0.5)
    assert lines_of(case, 160.0)["distortion"].value == pytest.approx(3.0 * math.sqrt(2.0))
    assert "of the shaker, equipment.toml" in lines_of(case, 160.0)["distortion"].source


def test_a_visits_own_figure_goes_before_what_was_measured():
    case = case_of(thd_pct=2.0, harmonics_pct=2.5)
    own = Contribution(name="distortion", value_pct=0.3, distribution="rectangular", source="trial")
    case = replace(case, visit=replace(case.visit, contributions=(own,)))
    assert (lines_of(case)["distortion"].value, lines_of(case)["distortion"].source) == (0.3, "trial")


def test_excluded_readings_tell_nothing_of_the_distortion():
    case = case_of(thd_pct=9.0, exclude="cable touched")
    assert lines_of(case)["distortion"].source.startswith("judgement")


def loaded(*shakers, **channel):
    case = make_case("band-response", HZ, np.full(3, 40.0), channel=replace(CHANNEL, **channel))
    found = lines_of(replace(case, shakers=shakers))
    return found["mounting"], found["transverse motion"]


def test_without_a_shaker_the_usual_sizes_stand():
    mounting, transverse = loaded()
    assert (mounting.value, transverse.value) == pytest.approx((0.2, 0.3))
    assert mounting.source == transverse.source == "judgement, no source"


def test_transverse_motion_is_cross_motion_times_transverse_sensitivity():
    _, transverse = loaded(Shaker(id="SHK-1", cross_motion_pct=15.0), transverse_pct=2.0)
    assert transverse.value == pytest.approx(0.3)
    assert transverse.source == (
        "15 % cross motion (equipment.toml), of which a sensor's transverse sensitivity takes 2 % (asset.toml)"
    )
    _, own = loaded(transverse_pct=5.0)
    assert own.value == pytest.approx(0.5)


def test_a_centre_beside_the_axis_adds_cross_motion():
    """0.8 kg on 0.2 kg, 3 mm beside the axis: 0.8 x 3/30 = 8 % more."""
    shaker = Shaker(id="SHK-1", armature_kg=0.2)
    _, transverse = loaded(shaker, moving_mass_kg=0.8, overhang_mm=3.0)
    assert transverse.value == pytest.approx((10.0 + 8.0) * 0.03)
    assert "a centre 3 mm beside the axis" in transverse.source
    assert loaded(shaker, moving_mass_kg=0.8)[1].value == pytest.approx(0.3)


def test_a_full_payload_doubles_what_mounting_gives():
    small, large = Shaker(id="SHK-1", payload_kg=0.8), Shaker(id="SHK-2", payload_kg=4.0)
    assert loaded(small, moving_mass_kg=0.8)[0].value == pytest.approx(0.4)
    assert loaded(large, moving_mass_kg=0.8)[0].value == pytest.approx(0.24)
    assert loaded(large, small, moving_mass_kg=0.8)[0].value == pytest.approx(0.4)  # no reading says which
    assert "0.8 kg of 0.8 kg payload of SHK-1" in loaded(small, moving_mass_kg=0.8)[0].source
    assert loaded(small)[0].value == pytest.approx(0.2)


def test_all_of_it_comes_from_the_files(tmp_path):
    equipment = EQUIPMENT + '[[shaker]]\nid = "SHK-1"\npayload_kg = 2.0\ncross_motion_pct = 20\n'
    asset = ASSET.replace("alert = 11.0", "alert = 11.0\nmoving_mass_kg = 1.0\ntransverse_pct = 4")
    rows = [
        f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{4.05 * x:.3f},mV pk,,,,,1.5,1.8" for x in (2.01, 5.02, 15.01)
    ]
    for names, expected in (("", (0.2, 0.4)), (', "SHK-1"', (0.3, 0.8))):
        visit = VISIT.replace('"DVM-1"]', f'"DVM-1"{names}]')
        headings = HEADINGS + ",thd_pct,harmonics_pct"
        folder = build_site(tmp_path, rows, visit=visit, equipment=equipment, asset=asset, headings=headings)
        case = select_case(load_visit(folder), channel="STG-1-V11", test="linearity", condition="as-found")
        lines = {line.name: line for line in analyse_linearity(case).frequencies[0].line.budget.lines}
        assert (lines["mounting"].value, lines["transverse motion"].value) == pytest.approx(expected)
        assert lines["distortion"].value == pytest.approx(1.8)
