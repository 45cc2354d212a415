"""The command line: exit statuses, sentences, and what is written and what is not."""

from __future__ import annotations

import json
import re
import shutil

import nbformat
import pytest

from tests.support.running.programs import call, everything_below
from tests.support.sites.plants import ASSET, TEN_MISTAKES, build_site, linearity_rows


def test_check_says_what_there_is(tmp_path):
    build_site(tmp_path / "site", linearity_rows())
    done = call("check", "site", cwd=tmp_path)
    assert done.returncode == 0
    assert "5 readings of 1 channel, 0 excluded; no problem found, no question." in done.stdout


def test_refused_input_writes_nothing(tmp_path):
    rows = [row.replace("mm/s pk", "mm/s") for row in linearity_rows()]
    build_site(tmp_path / "site", rows)
    for command in ("check", "run"):
        done = call(command, "site", cwd=tmp_path)
        assert done.returncode == 2
        assert len(done.stderr.splitlines()) == 5
        assert "row 2, column applied_unit: found 'mm/s'; give the detector too" in done.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


@pytest.mark.parametrize("command", ["check", "run"])
def test_ten_mistakes_are_ten_sentences_at_once_and_nothing_is_written(tmp_path, command):
    """A second asset without a mistake gets nothing written either; what stood there before stays as it was."""
    build_site(tmp_path / "site", TEN_MISTAKES.values())
    good = build_site(tmp_path / "other", linearity_rows()).parent
    (good / "asset.toml").write_text(ASSET.replace('tag = "STG-1"', 'tag = "STG-2"'), encoding="utf-8")
    good.rename(tmp_path / "site" / "STG-2")
    kept = tmp_path / "records" / "STG-1" / "results.json"
    kept.parent.mkdir(parents=True)
    kept.write_text("{}", encoding="utf-8")
    before = everything_below(tmp_path)
    done = call(command, "site", cwd=tmp_path)
    assert done.returncode == 2
    sentences = done.stderr.splitlines()
    assert len(sentences) == 10
    for row, (sentence, column) in enumerate(zip(sentences, TEN_MISTAKES, strict=True), start=2):
        assert re.fullmatch(
            rf"STG-1/2026-05-19/readings\.csv, row {row}, column {column}: found .+; (give|did you mean) .+\.", sentence
        ), sentence
    assert everything_below(tmp_path) == before


def test_drift_is_counted_apart_from_what_readings_judge(tmp_path):
    """Two visits are too few to say how it goes on: not verified, and no matter of the channel's verdicts."""
    home = build_site(tmp_path / "site", linearity_rows())
    shutil.copytree(home, home.with_name("2026-06-19"))
    later = (home / "visit.toml").read_text(encoding="utf-8").replace("2026-05-19", "2026-06-19")
    (home.with_name("2026-06-19") / "visit.toml").write_text(later, encoding="utf-8")
    done = call("run", "site", "--analysis", "linearity", "--analysis", "drift", cwd=tmp_path)
    assert re.search(r"3 records made, .* in \d+ s: 2 pass; drift: 1 ", done.stdout), done.stdout


def test_unknown_names_and_folders_are_refused(tmp_path):
    build_site(tmp_path / "site", linearity_rows())
    assert "known are STG-1-V11" in call("run", "site", "--channel", "V9", cwd=tmp_path).stderr
    assert call("run", "site", "--analysis", "linear", cwd=tmp_path).returncode == 2
    assert call("run", "nowhere", cwd=tmp_path).returncode == 2
    assert call("sing", cwd=tmp_path).returncode == 2


@pytest.mark.parametrize(("gain", "status", "verdict"), [(4.05, 0, "pass"), (3.7, 1, "fail")])
def test_run_makes_records_and_results(tmp_path, gain, status, verdict):
    build_site(tmp_path / "site", linearity_rows(gain=gain))
    done = call("run", "site", "--analysis", "linearity", cwd=tmp_path)
    assert done.returncode == status, done.stderr
    assert done.stderr == ""
    folder = tmp_path / "records" / "STG-1" / "2026-05-19"
    data = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    assert (data["schema"], data["asset"], data["visit"]) == (1, "STG-1", "2026-05-19")
    (entry,) = data["results"]
    assert entry["verdict"] == verdict
    assert entry["record"] == "STG-1-V11/linearity.as-found.ipynb"
    notebook = nbformat.read(folder / entry["record"], as_version=4)
    assert not notebook.metadata.get("widgets")
    mime = "application/vnd.vibcal-nb.result+json"
    (kept,) = [o.data[mime] for c in notebook.cells for o in c.get("outputs", []) if mime in o.get("data", {})]
    assert {k: v for k, v in entry.items() if k not in ("record", "seal")} == kept
    assert not [p for p in folder.rglob("*") if p.name.startswith(".") or "failed" in p.name]
    again = call("run", "site", "--analysis", "linearity", cwd=tmp_path)
    assert "0 records made, 1 up to date" in again.stdout


def test_one_failure_does_not_stop_the_others(tmp_path):
    """A folder where one record should go stops that record alone."""
    build_site(tmp_path / "site", linearity_rows())
    folder = tmp_path / "records" / "STG-1" / "2026-05-19" / "STG-1-V11"
    (folder / "linearity.as-found.ipynb" / "in the way").mkdir(parents=True)
    done = call("run", "site", cwd=tmp_path)
    assert done.returncode == 3
    (sentence,) = done.stderr.splitlines()
    assert sentence.startswith("STG-1 2026-05-19, STG-1-V11 linearity as-found: ")
    assert (folder / "channel-verdict.as-found.ipynb").is_file()


def test_check_asks_about_what_looks_wrong_and_changes_nothing(tmp_path):
    rows = linearity_rows()
    rows[2] = linearity_rows(levels=(10.03,), gain=40.5)[0]
    rows.append("STG-1-V11,band-response,as-found,80,,mm/s pk,,mV pk,,,,")
    build_site(tmp_path / "site", rows)
    before = everything_below(tmp_path)
    done = call("check", "site", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert "no problem found, 1 question." in done.stdout
    assert "\n  STG-1-V11: linearity as-found 5 of 5 read, band-response as-found 0 of 1 read.\n" in done.stdout
    assert "\n  ? readings.csv: STG-1-V11, linearity as-found, row 4: the output 406.21" in done.stdout
    assert everything_below(tmp_path) == before
