"""What equipment.toml may say of certificates and displays, and the sentences where it cannot be used."""

from __future__ import annotations

import pytest

from tests.support import certificates
from tests.support.sites.plants import EQUIPMENT
from vibcal_nb.inputs.certificates.reference_certificate import open_reference_certificate
from vibcal_nb.inputs.read_equipment import read_equipment
from vibcal_nb.units import parse_unit


def read(tmp_path, text):
    path = tmp_path / "equipment.toml"
    path.write_text(text, encoding="utf-8")
    problems = []
    return read_equipment(path, problems), [str(p) for p in problems]


def with_reference(keys):
    return EQUIPMENT.replace('kind = "reference accelerometer"', f'kind = "reference accelerometer"\n{keys}')


def test_correlation_display_and_drift_are_read(tmp_path):
    text = with_reference('correlation = 0.8\ndisplay_step = 0.01\ndisplay_unit = "mm/s pk"')
    text = text.replace('kind = "voltmeter"', 'kind = "voltmeter"\ndrift_pct_per_year = 0.05')
    equipment, problems = read(tmp_path, text)
    assert problems == []
    (reference,), (readout,) = equipment.references, equipment.readouts
    assert reference.correlation == 0.8
    assert (reference.display.step, reference.display.unit) == (0.01, parse_unit("mm/s pk"))
    assert readout.drift_pct_per_year == 0.05
    assert readout.display is None


def test_what_is_not_said_is_none(tmp_path):
    equipment, _ = read(tmp_path, EQUIPMENT)
    assert equipment.references[0].correlation is None
    assert equipment.readouts[0].drift_pct_per_year is None


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ("correlation = 1.5", "give a number of 0 or more and up to 1"),
        ("display_step = 0.01", "beside display_step, or leave both out"),
        ('display_unit = "mV rms"', "give a number above 0 beside display_unit, or leave both out"),
        ('display_step = 0.01\ndisplay_unit = "mV"', "display_unit"),
        ('display_step = 0\ndisplay_unit = "mV rms"', "give a number above 0"),
    ],
)
def test_a_wrong_key_is_one_sentence_with_its_place(tmp_path, keys, said):
    equipment, problems = read(tmp_path, with_reference(keys))
    assert equipment is None
    assert len(problems) == 1
    assert "equipment.toml" in problems[0]
    assert said in problems[0]


CERTIFIED = """
[[reference]]
id = "REF-C"
kind = "reference accelerometer"
serial = "KF-0417"
calibrated = 2025-07-01
due = 2026-06-30
certificate_file = "certificates/REF.xml"
"""


def with_certificate(tmp_path, text=CERTIFIED, data=None):
    (tmp_path / "certificates").mkdir(exist_ok=True)
    (tmp_path / "certificates" / "REF.xml").write_bytes(certificates.lists() if data is None else data)
    return read(tmp_path, text)


@pytest.mark.parametrize("shape", certificates.SHAPES)
def test_a_certificate_gives_the_uncertainty_by_frequency(tmp_path, shape):
    equipment, problems = with_certificate(tmp_path, data=certificates.SHAPES[shape]())
    assert problems == []
    (reference,) = equipment.references
    assert reference.certificate == "KF-CAL-0417, Calibration workshop"
    assert len(reference.certificate_sha256) == 64
    edges = [(band.from_hz, band.to_hz) for band in reference.uncertainty]
    assert edges == list(zip(certificates.HZ, certificates.HZ[1:], strict=False))
    sensitivity = reference.sensitivity
    assert [point.frequency_hz for point in sensitivity.points] == list(certificates.HZ)
    scale = {"V": 1000.0, "mV": 1.0}[sensitivity.output]
    values = [point.value * scale for point in sensitivity.points]
    assert values == pytest.approx(list(certificates.VALUES), rel=1e-12)
    standard = [band.expanded_pct / band.k for band in reference.uncertainty]
    assert standard == pytest.approx([certificates.PCT / certificates.K] * 5)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('"KF-0417"', '"KF-9999"', "'KF-9999', and the certificate is of KF-0417"),
        ('serial = "KF-0417"', "", "nothing beside certificate_file"),
        ("2025-07-01", "2025-08-01", "2025-08-01, and the certificate says 2025-07-01"),
        ("certificates/REF.xml", "../REF.xml", "leads out of the site's folder"),
        ("certificates/REF.xml", "/etc/hostname", "leads out of the site's folder"),
        ("certificates/REF.xml", "certificates/OTHER.xml", "found no such file"),
        ("due = ", 'quantity = "charge"\ndue = ', "a sensitivity in V/(m/s2)"),
        (
            "due = ",
            "uncertainty = [{ from_hz = 10, to_hz = 1000, expanded_pct = 1.0, k = 2 }]\ndue = ",
            "u of 0.5 % at 10 Hz, and the certificate's is 0.6 %",
        ),
        (
            "due = ",
            "uncertainty = [{ from_hz = 5, to_hz = 9000, expanded_pct = 2.0, k = 2 }]\ndue = ",
            "5 to 9000 Hz, and the certificate reaches from 10 to 5000 Hz",
        ),
    ],
)
def test_a_certificate_that_does_not_fit_its_entry_is_refused(tmp_path, before, after, said):
    equipment, problems = with_certificate(tmp_path, CERTIFIED.replace(before, after, 1))
    assert equipment is None
    assert any(said in problem for problem in problems), problems


def test_a_larger_uncertainty_than_the_certificates_may_be_stated(tmp_path):
    band = "uncertainty = [{ from_hz = 10, to_hz = 5000, expanded_pct = 2.0, k = 2 }]\ndue = "
    equipment, problems = with_certificate(tmp_path, CERTIFIED.replace("due = ", band, 1))
    assert problems == []
    assert equipment.references[0].uncertainty[0].expanded_pct == 2.0


def test_a_hostile_certificate_is_one_problem_of_its_entry(tmp_path):
    equipment, (problem,) = with_certificate(tmp_path, data=b'<!DOCTYPE b [<!ENTITY a "a">]><b>&a;</b>')[0:2]
    assert equipment is None
    assert "a declaration of document types or entities" in problem


def test_what_was_taken_is_said(tmp_path):
    with_certificate(tmp_path)
    said = open_reference_certificate(tmp_path, "certificates/REF.xml").taken
    assert said == (
        "REF.xml: certificate KF-CAL-0417, Calibration workshop, calibrated 2025-07-01; took the sensitivity at 6 "
        "frequencies, 10 to 5000 Hz, with phase, U 1.2 %, serial KF-0417"
    )
