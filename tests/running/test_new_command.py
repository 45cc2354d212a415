"""`new`: from nothing to a checked site, without a line that a person did not mean."""

from __future__ import annotations

import pytest

from tests.support.sites.filled_in import fill_in, lines_of_toml
from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS
from vibcal_nb.running.commands.cli import main


def test_from_nothing_to_a_checked_site_of_four_channels_in_forty_lines(tmp_path, capsys):
    site = tmp_path / "MY_SITE"
    channels = [f"--channel=P-1-V{n}=constant-current-acceleration" for n in (11, 12, 21, 22)]
    assert main(["new", str(site / "P-1"), *channels, "--rotor", "pump"]) == 0
    assert "to fill in" in capsys.readouterr().out
    assert main(["check", str(site)]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 7 + 5 + 1  # one sentence an open value, and none for what follows from it
    files = [site / "equipment.toml", site / "kinds.toml", site / "P-1" / "asset.toml"]
    for path in files:
        fill_in(path)
    assert lines_of_toml(*files) <= 40
    assert main(["check", str(site)]) == 0
    assert "P-1: 4 channels, no visit yet; no problem found" in capsys.readouterr().out


def test_a_site_an_asset_and_a_visit_come_one_after_the_other(tmp_path, capsys):
    site = tmp_path / "MY_SITE"
    assert main(["new", str(site)]) == 0
    assert "new " in capsys.readouterr().out
    assert main(["new", str(site / "P-1"), "--rotor", "motor", "--rotor", "pump"]) == 0
    assert main(["new", str(site / "P-1"), "--channel", "P-1-T=triaxial-acceleration"]) == 0
    assert "tables added at its end" in capsys.readouterr().out
    for path in site.rglob("*.toml"):
        fill_in(path)
    day = site / "P-1" / "2026-06-01"
    assert main(["new", str(day)]) == 0
    assert main(["check", str(site)]) == 0
    assert "planned for 2026-06-01" in capsys.readouterr().out
    assert main(["new", str(day)]) == 2
    said = capsys.readouterr()
    assert "is there already, and stays as it is" in said.out
    assert "Nothing was written" in said.err


def test_the_common_kinds_are_listed(capsys):
    assert main(["new", "--kinds"]) == 0
    listed = [line.split(":")[0] for line in capsys.readouterr().out.splitlines()]
    assert listed == list(COMMON_KINDS)
    assert len(listed) == 10


@pytest.mark.parametrize(
    ("arguments", "said"),
    [([], "Give a folder"), (["S", "--channel", "V1"], "give TAG=KIND"), (["S", "--kind", "x"], "no common kind 'x'")],
)
def test_what_is_not_understood_is_refused(tmp_path, monkeypatch, capsys, arguments, said):
    monkeypatch.chdir(tmp_path)
    assert main(["new", *arguments]) == 2
    assert said in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
