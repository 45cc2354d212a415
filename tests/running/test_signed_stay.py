"""Signed records stay until somebody says that they are to be superseded; what did not move stays anyhow."""

from __future__ import annotations

import json

import pytest

from tests.support.kept.performed import remember_performances
from tests.support.running.interrupted_runs import without_kernels
from tests.support.sites.plants import ASSET, build_site, linearity_rows
from vibcal_nb.records.seal.seal import seal_of
from vibcal_nb.running.commands.cli import main

OTHER = "STG-1-V12"
OLD_CERTIFICATE = """
# last year's, put in afterwards
[[reference]]
id = "REF-0"
kind = "reference accelerometer"
serial = "R0"
calibrated = 2022-01-10
due = 2023-01-10
uncertainty = [{ from_hz = 5, to_hz = 10000, expanded_pct = 1.5, k = 2 }]
"""


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    with without_kernels():
        yield
    end()


@pytest.fixture
def signed(tmp_path):
    """Two channels of a visit, their records signed off; the visit and the records folder."""
    own = ASSET[ASSET.index("[channels.STG-1-V11]") :].replace("STG-1-V11", OTHER)
    rows = [*linearity_rows(), *(row.replace("STG-1-V11", OTHER) for row in linearity_rows())]
    visit = build_site(tmp_path / "site", rows, asset=ASSET + own)
    assert run(tmp_path) == 0
    assert main(["verify", str(tmp_path / "records"), "--sign", "--name", "Engineer D"]) == 0
    return visit, tmp_path / "records"


def run(place, *options):
    words = ["run", str(place / "site"), "--out", str(place / "records"), "--analysis", "linearity", "--no-pdf"]
    return main([*words, "--workers", "1", *options])


def records_in(folder):
    return {path.parent.name: path.read_bytes() for path in folder.rglob("*.ipynb") if "superseded" not in path.parts}


def test_a_certificate_a_comment_a_planned_visit_and_another_channels_correction_supersede_nothing_signed(
    signed, tmp_path, capsys
):
    visit, records = signed
    before = records_in(records)
    equipment, asset = visit.parents[1] / "equipment.toml", visit.parent / "asset.toml"
    equipment.write_text(equipment.read_text(encoding="utf-8") + OLD_CERTIFICATE, encoding="utf-8")
    asset.write_text("# reviewed\n" + asset.read_text(encoding="utf-8"), encoding="utf-8")
    planned = visit.with_name("2027-05-11")
    planned.mkdir()
    said = (visit / "visit.toml").read_text(encoding="utf-8").replace("2026-05-19", "2027-05-11")
    (planned / "visit.toml").write_text(said, encoding="utf-8")
    assert run(tmp_path) == 0
    assert "2 up to date" in capsys.readouterr().out
    readings = visit / "readings.csv"
    head, _, last = readings.read_text(encoding="utf-8").strip().rpartition("\n")
    assert last.startswith(OTHER) and ",81.04" in last
    readings.write_text(f"{head}\n{last.replace(',81.04', ',81.14')}\n", encoding="utf-8")
    assert run(tmp_path) == 3
    printed = capsys.readouterr()
    assert "STG-1-V11" not in printed.err
    assert f"{OTHER} linearity as-found: signed off by Engineer D" in printed.err
    assert "output: from 81.04" in printed.err and "give --supersede-signed" in printed.err
    assert records_in(records) == before
    assert not list(records.rglob("superseded"))
    assert len(list(records.rglob("*.signoff-1.json"))) == 2


def test_it_is_announced_before_it_happens_and_the_history_stays_to_be_seen(signed, tmp_path, capsys):
    visit, records = signed
    before = records_in(records)
    readings = visit / "readings.csv"
    text = readings.read_text(encoding="utf-8")
    readings.write_text(
        text.replace(f"{OTHER},linearity,as-found,50,20.01", f"{OTHER},linearity,as-found,50,20.02"), encoding="utf-8"
    )
    assert run(tmp_path, "--supersede-signed") == 0
    assert f"To be superseded: STG-1 2026-05-19, {OTHER} linearity as-found: signed off by" in capsys.readouterr().out
    after = records_in(records)
    assert after["STG-1-V11"] == before["STG-1-V11"]
    replaces = seal_of(json.loads(after[OTHER]))["replaces"]
    assert [item["by"].split(",")[0] for item in replaces["signed_off"]] == ["Engineer D"]
    assert any("applied: from 20.01" in said for said in replaces["changed"])
