"""A reference that is a table over frequency: back-to-back readings, its own output as the level, magnitude and phase.

The reference is the institute's published sensor (``support.published.institute``), its table every other frequency of
the calibration; what lies between is held against the calibration itself. Sensitivities by closed form elsewhere.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

import vibcal_nb as vn
from tests.support.published.institute import INSTITUTE
from vibcal_nb.display.band_response.band_tables import band_points
from vibcal_nb.inputs.read_equipment import read_equipment
from vibcal_nb.metrology.numerics.monotone_cubic import MonotoneCubic
from vibcal_nb.model.reference.reference_curve import phase_at, sensitivity_at, u_interpolation_pct
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.quantities.result_entry import result_entry

F, S, PHASE = INSTITUTE[:, 0], INSTITUTE[:, 1], INSTITUTE[:, 3]
HEAD = '[[reference]]\nid = "REF-B"\nserial = "B-7"\ncalibrated = 2026-01-10\ndue = 2027-01-10\n'
READOUTS = (
    '[[readout]]\nid = "DVM-1"\nserial = "D-1"\ncalibrated = 2026-01-10\ndue = 2027-01-10\nexpanded_pct = 0.2\nk = 2\n'
)
CHANNEL = {
    "input_unit": "m/s2 pk",
    "output_unit": "mV pk",
    "nominal_sensitivity": 10.2,
    "tolerance_pct": 5.0,
    "band": {"reference_hz": 63, "flat_hz": [20, 160], "flat_pct": 5.0},
    "phase": {"polarity": "+"},
}
U_PCT = 0.4
POINT = "{ hz = 10, value = 1, expanded_pct = 1, k = 2 }"
WITH_PHASE = "{ hz = 20, value = 1, expanded_pct = 1, k = 2, phase_deg = 0 }"


def table(places, *, scale=0.13, phase=True, expanded=U_PCT):
    more = ", phase_deg = {:.4f}, phase_expanded_deg = 0.3" if phase else ""
    rows = (
        f"{{ hz = {F[i]}, value = {scale * S[i]:.8g}, expanded_pct = {expanded}, k = 2{more.format(PHASE[i])} }}"
        for i in places
    )
    return f'[reference.sensitivity]\nunit = "pC/(m/s2)"\ncorrelation = 0.6\ntable = [{", ".join(rows)}]\n'


@pytest.fixture
def equipment(tmp_path):
    path = tmp_path / "equipment.toml"

    def write(*, read_by='read_by = "DVM-1"\n', **how):
        path.write_text(HEAD + read_by + table(range(0, F.size, 2), **how) + READOUTS, encoding="utf-8")
        return path

    return write


def back_to_back(path, *, level=10.0, under_test=10.0, reversed_=False, **more):
    """A sensor under test that is flat and has no delay, driven beside the reference at all frequencies."""
    turn = 180.0 if reversed_ else 0.0
    frame = {
        "frequency_hz": F,
        "applied": 0.13 * S * level,
        "output": np.full(F.size, under_test * level),
        "phase_deg": turn - PHASE,  # its output against that of the reference
        "reference": ["REF-B"] * F.size,
    }
    kit = {"equipment": path, "date": "2026-05-19", "applied_unit": "pC pk", "output_unit": "mV pk"}
    return vn.band_response({**frame, **more}, channel=CHANNEL, **kit)


def test_the_references_curve_is_taken_out_in_magnitude_and_phase(equipment):
    result = back_to_back(equipment())
    responses = np.array([point.value_pct for point in result.points])
    np.testing.assert_allclose(responses[F != 200.0], 100.0, atol=0.1)  # also between the table's frequencies
    assert abs(responses[F == 200.0][0] - 100.0) < result.points[15].expanded.U  # where the curve is bent most
    assert (result.verdict, result.phase.polarity) == ("pass", "+")
    assert result.phase.delay_ms.value == pytest.approx(0.0, abs=1e-3)
    assert abs(result.phase.intercept_deg.value) < 0.1
    assert back_to_back(equipment(), reversed_=True).verdict == "fail"


def test_what_was_written_down_stays_beside_the_level(equipment):
    result = back_to_back(equipment())
    reading = result.points[11].reading
    assert (reading.reference, reading.reference_output_unit.text) == ("REF-B", "pC pk")
    assert reading.reference_output == pytest.approx(0.13 * S[11] * 10.0)
    assert (reading.applied_unit.text, reading.applied) == ("m/s2 pk", pytest.approx(10.0, rel=2e-3))
    table = band_points(result)[0]
    assert "output of the reference" in table.headings
    assert any(cell.endswith("pC pk, REF-B") for row in table.rows for cell in row.cells)


def test_interpolation_is_scipys_and_states_what_it_leaves_open(tmp_path, equipment):
    problems = []
    curve = read_equipment(equipment(), problems).references[0].sensitivity
    assert problems == []
    hz, values = (np.array([getattr(point, name) for point in curve.points]) for name in ("frequency_hz", "value"))
    by_scipy = PchipInterpolator(np.log(hz), np.log(values))
    for f in (10.0, 11.0, 47.0, 115.0, 249.0, 250.0):
        assert sensitivity_at(curve, f) == pytest.approx(float(np.exp(by_scipy(np.log(f)))), rel=1e-12)
    assert u_interpolation_pct(curve, float(hz[3])) == pytest.approx(0.0, abs=1e-9)
    between = F[1::2]
    errors = [100.0 * abs(sensitivity_at(curve, f) / (0.13 * s) - 1.0) for f, s in zip(between, S[1::2], strict=True)]
    assert max(errors[:-1]) < 0.1
    left_open = [np.hypot(u_interpolation_pct(curve, f), U_PCT / 2.0) for f in between]
    assert all(error <= 2.0 * u for error, u in zip(errors, left_open, strict=True))
    deg, u = phase_at(curve, 115.0)
    assert deg == pytest.approx(np.interp(115.0, F, PHASE), abs=0.05)
    assert u == pytest.approx(0.15)
    assert MonotoneCubic(np.array([0.0, 1.0]), np.array([1.0, 3.0])).at(0.25) == pytest.approx(1.5)


def test_the_table_is_the_certificate_of_the_level(equipment):
    """U of the table is that of the budget; what reads both cancels, else its gain counts a second time."""

    def lines(result):
        return {line.name: line for line in result.reference_budget.lines}

    cancelling = lines(back_to_back(equipment()))
    assert cancelling["reference level"].standard_uncertainty == pytest.approx(U_PCT / 2.0)
    assert "correlation over frequency 0.6" in cancelling["reference level"].source
    assert cancelling["readout gain"].standard_uncertainty == 0.0
    assert "readout of the reference" not in cancelling
    apart = lines(back_to_back(equipment(read_by="")))
    assert apart["readout of the reference"].standard_uncertainty == pytest.approx(0.1)


def test_beyond_the_table_nothing_is_verified(equipment):
    frame = {"frequency_hz": [*F, 400.0], "applied": [*(1.3 * S), 0.5], "output": [*([100.0] * F.size), 50.0]}
    result = back_to_back(equipment(), **frame, phase_deg=[None] * (F.size + 1), reference=["REF-B"] * (F.size + 1))
    assert result.verdict == "not verified"
    assert any(
        "400 Hz lie outside the certificate of REF-B, which covers 10 to 250 Hz" in gate.found for gate in result.gates
    )


def test_without_a_stated_phase_the_references_is_taken_to_be_none(equipment):
    result = back_to_back(equipment(phase=False), phase_deg=np.zeros(F.size))
    assert result.phase.delay_ms.value == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"reference": [""] * 17}, "name in the column reference the reference whose output it is, or give the level"),
        ({"reference": ["REF-X"] * 17}, "name one that the visit names under equipment"),
        ({"applied_unit": ["mV pk"] * 17}, "found mV pk, where REF-B gives pC; mend the unit"),
    ],
)
def test_a_row_that_cannot_be_turned_into_a_level_is_refused(equipment, more, said):
    with pytest.raises(InputRefused, match=said):
        back_to_back(equipment(), **more)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('unit = "pC"\ntable = []', "give output per level, such as"),
        ('unit = "m/s2/pC"\ntable = []', "give output per level, such as"),
        (f'unit = "mV/g"\ntable = [{POINT}]', "1 frequencies; give two or more"),
        (f'unit = "mV/g"\ntable = [{POINT}, {POINT}]', "10 Hz twice"),
        (f'unit = "mV/g"\ntable = [{POINT}, {WITH_PHASE}]', "give it at all of them, or at none"),
    ],
)
def test_a_table_that_cannot_be_is_refused(tmp_path, text, said):
    path = tmp_path / "equipment.toml"
    path.write_text(f"{HEAD}[reference.sensitivity]\n{text}\n{READOUTS}", encoding="utf-8")
    problems = []
    read_equipment(path, problems)
    assert said in "\n".join(problem.sentence for problem in problems)


def test_several_references_in_one_visit_each_by_the_rows_that_name_it(equipment, tmp_path):
    path = equipment()
    second = (
        HEAD.replace("REF-B", "REF-C").replace("B-7", "C-7")
        + "uncertainty = [{ from_hz = 5, to_hz = 300, expanded_pct = 3.0, k = 2 }]\n"
    )
    path.write_text(path.read_text(encoding="utf-8") + second, encoding="utf-8")
    names = ["REF-C" if f == 160.0 else "REF-B" for f in F]
    applied = np.where(F == 160.0, 10.0, 1.3 * S)
    units = ["m/s2 pk" if f == 160.0 else "pC pk" for f in F]
    result = back_to_back(path, reference=names, applied=applied, applied_unit=units, phase_deg=[None] * F.size)
    assert result.uncertainty.reference_at(160.0).reference.id == "REF-C"
    assert result.uncertainty.reference_at(80.0).reference.id == "REF-B"
    assert result_entry(result)["quantities"]["points"][14]["response_pct"] == pytest.approx(100.0, abs=0.1)
    assert replace(result.points[14].reading, row=1).reference_output is None
