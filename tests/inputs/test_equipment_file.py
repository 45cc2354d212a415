"""What equipment.toml may say of certificates and displays, and the sentences where it cannot be used."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import EQUIPMENT
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
