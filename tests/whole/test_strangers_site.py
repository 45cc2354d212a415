"""A stranger's site from nothing to verdicts: described by `new`, old tables brought in, and changed afterwards."""

from __future__ import annotations

import json

from tests.support.sites.strangers_site import CHANNELS, DAY, GAIN, bring_in, change_later, describe, entries, old_table
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS
from vibcal_nb.running.commands.cli import main


def test_fourteen_channels_of_ten_kinds_and_four_old_tables_from_nothing_to_verdicts(tmp_path, capsys):
    site = tmp_path / "site"
    describe(site)
    tags = [tag for asset in CHANNELS for tag in load_asset_folder(site / asset).asset.channels]
    assert len(tags) == 14
    assert {kind for channels in CHANNELS.values() for kind, _ in channels.values()} == set(COMMON_KINDS)
    for asset in CHANNELS:
        wanted = old_table(site, asset).readings
        assert bring_in(site, asset) == 0, capsys.readouterr().err
        assert len(load_visit(site / asset / DAY).table.readings) == wanted
    capsys.readouterr()
    assert main(["check", str(site)]) in (0, 1)
    said = capsys.readouterr()
    assert said.err == ""
    asked = [line for line in said.out.splitlines() if line.strip().startswith("?")]
    assert len(asked) == 1 and "FN-9-V2, linearity as-found, rows 9 to 13: outside the planned limits" in asked[0]

    before = entries(site, renamed={})
    lines = {entry["channel"]: entry for entry in map(json.loads, before) if entry["analysis"] == "linearity"}
    assert set(lines) == set(tags)
    for tag, entry in lines.items():
        (at_speed,) = entry["quantities"]
        assert abs(at_speed["deviation_pct"] - 100.0 * (GAIN.get(tag, 1.01) - 1.0)) < 0.05, tag
    renamed = change_later(site)
    after = entries(site, renamed=renamed)
    assert sorted(after) == sorted(before)
    assert load_asset_folder(site / "PU-3").asset.channels["PU-3-T1-X"].trip == 20.0
