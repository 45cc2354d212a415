"""Two colleagues make records of one visit, each in a clone of their own, and merge them by git, as the guide says."""

from __future__ import annotations

import json
import os
import shutil
import subprocess

import pytest

from tests.support.sites.plants import ASSET, build_site, linearity_rows
from vibcal_nb.running.commands.cli import main

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
IGNORED = "register*.sqlite*\nsite_overview.html\n"
WHO = {f"GIT_{role}_{what}": f"{what.lower()}@site" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}


def git(folder, *arguments, status=0):
    settings = ("-c", "init.defaultBranch=main", "-c", "core.autocrlf=false", "-c", "commit.gpgsign=false")
    done = subprocess.run(
        ["git", *settings, *arguments], cwd=folder, env={**os.environ, **WHO}, capture_output=True, check=False
    )
    assert done.returncode == status, done.stdout + done.stderr
    return done.stdout.decode()


def run(folder, monkeypatch, channel):
    monkeypatch.chdir(folder)
    assert main(["run", "site", "--analysis", "linearity", "--channel", channel]) in (0, 1)
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", channel)


def results(folder):
    return json.loads((folder / "records" / "STG-1" / "2026-05-19" / "results.json").read_text(encoding="utf-8"))


def test_records_of_two_colleagues_merge(tmp_path, monkeypatch, capsys):
    hers, his = tmp_path / "hers", tmp_path / "his"
    asset = ASSET + ASSET[ASSET.index("[channels.STG-1-V11]") :].replace("STG-1-V11", "STG-1-V12")
    rows = [*linearity_rows(), *(row.replace("STG-1-V11", "STG-1-V12") for row in linearity_rows(gain=4.02))]
    build_site(hers / "site", rows, asset=asset)
    (hers / "records").mkdir()
    (hers / "records" / ".gitignore").write_text(IGNORED, encoding="utf-8")
    git(hers, "init", "-q")
    git(hers, "add", "-A")
    git(hers, "commit", "-qm", "the site")
    git(tmp_path, "clone", "-q", "hers", "his")
    run(hers, monkeypatch, "STG-1-V11")
    run(his, monkeypatch, "STG-1-V12")
    mine = results(hers)["results"]

    git(hers, "pull", "-q", "--no-rebase", "../his", "main", status=1)
    conflicts = git(hers, "diff", "--name-only", "--diff-filter=U").split()
    assert conflicts == ["records/STG-1/2026-05-19/results.json"]
    git(hers, "checkout", "--ours", *conflicts)

    monkeypatch.chdir(hers)
    capsys.readouterr()
    assert main(["run", "site", "--analysis", "linearity", "--channel", "STG-1-V11"]) in (0, 1)
    both = results(hers)["results"]
    assert [entry["channel"] for entry in both] == ["STG-1-V11", "STG-1-V12"]
    assert both[0] == mine[0]
    assert both[1] == results(his)["results"][0]
    assert main(["overview", "records", "--rebuild"]) in (0, 1)
    assert "Register made from 2 records" in capsys.readouterr().out
    assert main(["verify", "records"]) in (0, 1)


def test_a_results_file_with_marks_of_a_conflict_is_made_anew_from_the_records(tmp_path, monkeypatch):
    build_site(tmp_path / "site", linearity_rows())
    monkeypatch.chdir(tmp_path)
    assert main(["run", "site", "--analysis", "linearity"]) in (0, 1)
    path = tmp_path / "records" / "STG-1" / "2026-05-19" / "results.json"
    whole = results(tmp_path)
    path.write_bytes(b"<<<<<<< mine\n" + path.read_bytes())
    assert main(["run", "site", "--analysis", "linearity"]) in (0, 1)
    assert results(tmp_path) == whole
