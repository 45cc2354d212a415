"""`check` says what keeps a pass from being said before anything is run, so that nobody drives to the site for it."""

from __future__ import annotations

import pytest

from tests.support.places import DEMO
from tests.support.sites.plants import ASSET, EQUIPMENT, VISIT, build_site, linearity_rows
from vibcal_nb.running.commands.cli import main

LINE_ONLY = ASSET[: ASSET.index("[channels.STG-1-V11.band]")]
TWO = LINE_ONLY + LINE_ONLY[LINE_ONLY.index("[channels") :].replace("V11", "V12")


def said_of(site, capsys, **files):
    status = main(["check", str(build_site(site, files.pop("rows", linearity_rows()), **files))])
    return int(status), capsys.readouterr().out


def test_a_visit_in_order_has_nothing_said_of_it(tmp_path, capsys):
    status, said = said_of(tmp_path, capsys, asset=LINE_ONLY)
    assert status == 0
    assert "not verified" not in said


def test_a_visit_with_displays_set_points_votes_and_items_has_nothing_said_of_it(capsys):
    assert main(["check", str(DEMO / "BFP-2" / "2026-04-21")]) == 0
    assert "not verified" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("files", "sentence"),
    [
        (
            {"equipment": EQUIPMENT.replace("2027-01-10", "2026-05-01", 1)},
            "The certificate of REF-1 had run out on 2026-05-01, 18 days before the visit of 2026-05-19: have it "
            "calibrated",
        ),
        ({"visit": VISIT.replace(', "DVM-1"', "")}, "The visit names no readout: name the one that read the output"),
        ({"visit": VISIT.replace('"REF-1", ', "")}, "The visit names no reference for vibration: name the one"),
        (
            {"equipment": EQUIPMENT.replace("from_hz = 5,", "from_hz = 55,")},
            "Readings at 50 Hz lie outside the certificate of REF-1, which covers 55 to 10000 Hz: name a reference",
        ),
        ({"rows": linearity_rows((1.00, 1.04, 1.09))}, "At 50 Hz the levels run only from 1 to 1.09 mm/s pk"),
    ],
    ids=["run out", "no readout", "no reference", "outside", "levels"],
)
def test_each_gate_is_told_with_what_to_do(tmp_path, capsys, files, sentence):
    status, said = said_of(tmp_path, capsys, **{"asset": LINE_ONLY} | files)
    assert status == 1
    assert f"not verified as it stands, all tests: {sentence}" in said


def test_a_gate_of_one_channel_is_told_of_that_channel_alone(tmp_path, capsys):
    rows = [*linearity_rows(), *(row.replace("V11", "V12") for row in linearity_rows((1.00, 1.04, 1.09)))]
    _, said = said_of(tmp_path, capsys, asset=TWO, rows=rows)
    assert "not verified as it stands, linearity of STG-1-V12: At 50 Hz the levels run only from 1 to 1.09" in said
