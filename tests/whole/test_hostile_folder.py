"""A folder that came by mail: nothing in it is run, loaded or waited for, whatever command looks at it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.kept.made_records import make_records
from tests.support.kept.same_record import timeless
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused

MODULES = ("argparse", "random", "typing", "json", "pathlib", "numpy", "matplotlib", "fqdn", "sitecustomize", "pandas")
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="named pipes and devices")
CONSOLE = Path(sys.executable).with_name("vibcal-nb")


@pytest.fixture
def folder(tmp_path):
    """A site, with modules beside it that note that they were run, and a matplotlibrc that draws otherwise."""
    build_site(tmp_path, linearity_rows())
    for name in MODULES:
        text = f"open({str(tmp_path / 'ran')!r}, 'a').write('{name} ')\nraise ImportError('{name} of the folder')\n"
        (tmp_path / f"{name}.py").write_text(text, encoding="utf-8")
    ugly = "backend: module://random\nlines.linewidth: 40\naxes.facecolor: red\nfont.size: 40\nsavefig.dpi: 3\n"
    (tmp_path / "matplotlibrc").write_text(ugly, encoding="utf-8")
    return tmp_path


def called(folder, *words, program=(sys.executable, "-m", "vibcal_nb")):
    done = subprocess.run(
        [*map(str, program), *map(str, words)],
        cwd=folder,
        env={name: value for name, value in os.environ.items() if name != "PYTHONSAFEPATH"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    assert not (folder / "ran").exists(), (folder / "ran").read_text(encoding="utf-8")
    return done


@pytest.mark.parametrize("program", ["package", "console"])
def test_modules_that_lie_in_the_folder_are_not_run(folder, program):
    words = (CONSOLE,) if program == "console" else (sys.executable, "-m", "vibcal_nb")
    assert called(folder, "check", ".", program=words).returncode == 0
    run = called(folder, "run", ".", "--analysis", "linearity", program=words)
    assert run.returncode == 0, run.stderr
    assert called(folder, "verify", "records", program=words).returncode == 0
    assert called(folder, "overview", "records", program=words).returncode in (0, 1)


def test_a_matplotlibrc_in_the_folder_changes_no_figure(folder, tmp_path_factory):
    assert called(folder, "run", "STG-1/2026-05-19", "--analysis", "linearity", "--out", "records").returncode == 0
    plain = tmp_path_factory.mktemp("plain")
    build_site(plain, linearity_rows())
    assert called(plain, "run", "STG-1/2026-05-19", "--analysis", "linearity", "--out", "records").returncode == 0
    name = "records/STG-1/2026-05-19/STG-1-V11/linearity.as-found.ipynb"
    assert timeless(folder / name) == timeless(plain / name)


@POSIX
def test_pipes_and_devices_among_records_hang_nothing(tmp_path):
    record = make_records(tmp_path)
    out = record.parents[1]
    places = [
        record.with_name("pipe.ipynb"),
        record.with_name("linearity.as-found.signoff-1.json"),
        record.with_name("linearity.as-found.signoff-2.json.sig"),
        record.parent / "superseded" / "linearity.as-found.rev1.ipynb",
        record.parent / "superseded" / "old.pdf",
        out / "other" / "other.pdf",
    ]
    for place in places:
        place.parent.mkdir(exist_ok=True)
        os.mkfifo(place)
    record.with_name("linearity.as-found.html").unlink()
    os.mkfifo(record.with_name("linearity.as-found.html"))
    (out / "results.json").unlink()
    os.mkfifo(out / "results.json")
    record.with_name("zero.ipynb").symlink_to("/dev/zero")
    done = called(tmp_path, "verify", "records")
    assert done.returncode in (1, 3)
    assert "linearity.as-found.ipynb" in done.stdout
    assert called(tmp_path, "overview", "records", "--rebuild").returncode in (0, 1)


@POSIX
def test_a_pipe_that_is_named_is_refused(tmp_path):
    os.mkfifo(tmp_path / "record.ipynb")
    done = called(tmp_path, "verify", "record.ipynb")
    assert done.returncode == 3
    assert "no ordinary file" in done.stdout


@POSIX
def test_verify_goes_on_after_a_file_that_cannot_be_read(tmp_path):
    record = make_records(tmp_path)
    record.with_name("a.ipynb").touch()
    os.truncate(record.with_name("a.ipynb"), 2 << 30)  # a file without end, as far as reading it whole goes
    done = called(tmp_path, "verify", "records", "-v")
    assert done.returncode == 3
    assert "COULD NOT BE READ" in done.stdout
    assert "performed again" in done.stdout


WAVEFORMS = """[[waveform]]
file = "w.csv"
channel = "STG-1-V11"
"""


@POSIX
def test_a_waveform_that_leads_out_of_the_site_is_refused(tmp_path):
    from vibcal_nb.inputs.read_waveform_list import read_waveform_list

    visit = build_site(tmp_path / "site", linearity_rows())
    secret = tmp_path / "secret.csv"
    secret.write_text("a,b\n1,2\n", encoding="utf-8")
    (visit / "waveforms").mkdir()
    (visit / "waveforms" / "w.csv").symlink_to(secret)
    (visit / "waveforms" / "waveforms.toml").write_text(WAVEFORMS, encoding="utf-8")
    with pytest.raises(InputRefused, match=r"w\.csv"):
        read_waveform_list(visit, asset=load_visit(visit).asset)
