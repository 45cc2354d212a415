"""What Windows and macOS do otherwise, simulated: newlines and marks, forms of accents, case, and files held open."""

from __future__ import annotations

import ast
import errno
import os
import shutil
import unicodedata
from pathlib import Path, PureWindowsPath

import numpy as np
import pytest

import vibcal_nb
from tests.support.running.programs import everything_below
from tests.support.sites.plants import ASSET, VISIT, build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit, load_visits
from vibcal_nb.inputs.read_waveform_list import read_waveform_list
from vibcal_nb.problems import InputRefused, file_trouble
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.fleet.record_path import RecordCase

ROWS = linearity_rows()
NFC, NFD = (unicodedata.normalize(form, "Pumpe-Süd-Å1") for form in ("NFC", "NFD"))
FILES = ("equipment.toml", "STG-1/asset.toml", "STG-1/2026-05-19/visit.toml", "STG-1/2026-05-19/readings.csv")


def read(home):
    folder = load_visit(home)
    return folder.asset, folder.equipment, folder.visit, folder.table.readings


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "byte order mark"])
@pytest.mark.parametrize("newline", [b"\n", b"\r\n"], ids=["LF", "CRLF"])
def test_every_input_file_reads_alike_whatever_an_editor_puts_at_its_ends(tmp_path, newline, mark):
    home = build_site(tmp_path, ROWS, visit=VISIT + 'notes = """two\nlines"""\n')
    expected = read(home)
    assert expected[2].notes == "two\nlines"
    for name in FILES:
        path = tmp_path / name
        path.write_bytes(mark + path.read_bytes().replace(b"\n", newline))
    assert read(home) == expected


@pytest.mark.parametrize("name", FILES[:3])
def test_a_toml_file_of_carriage_returns_is_refused_in_a_sentence(tmp_path, name):
    """TOML 1.0 knows LF and CRLF; a table of carriage returns alone is read (tests/inputs/test_inputs.py)."""
    home = build_site(tmp_path, ROWS)
    path = tmp_path / name
    path.write_bytes(path.read_bytes().strip().replace(b"\n", b"\r"))
    with pytest.raises(InputRefused, match="found text that is not TOML"):
        load_visit(home)


@pytest.mark.parametrize(("in_asset", "in_table"), [(NFC, NFD), (NFD, NFC)])
def test_a_channel_is_found_in_whatever_form_its_accents_are_typed(tmp_path, in_asset, in_table):
    assert in_asset != in_table
    rows = [row.replace("STG-1-V11", in_table) for row in ROWS]
    home = build_site(tmp_path, rows, asset=ASSET.replace("channels.STG-1-V11", f'channels."{in_asset}"'))
    assert {reading.channel for reading in load_visit(home).table.readings} == {in_asset}


def test_a_waveform_is_found_by_the_name_that_another_system_gave_it(tmp_path):
    home = build_site(tmp_path, ROWS)
    (home / "waveforms").mkdir()
    np.savez(home / "waveforms" / f"{NFD}.npz", x=np.zeros(3))
    track = '{ track = "x", scale = 1.0, unit = "%s" }'
    listed = (
        f'[[waveform]]\nfile = "{NFC}.npz"\nchannel = "STG-1-V11"\n'
        f"reference = {track % 'm/s2 pk'}\noutput = {track % 'mV pk'}\n"
    )
    (home / "waveforms" / "waveforms.toml").write_text(listed, encoding="utf-8")
    (found,) = read_waveform_list(home, asset=load_visit(home).asset)
    assert found.file.is_file() and unicodedata.normalize("NFC", found.file.stem) == NFC


def test_a_path_of_bytes_that_are_no_text_is_refused_before_anything_is_made(tmp_path):
    """Unix takes any bytes for a name; a record, which is UTF-8, could not say where its inputs are."""
    build_site(tmp_path / "site", ROWS)
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/s\xffte"))
    try:
        (tmp_path / "site").rename(odd)
    except OSError:
        pytest.skip("this system has no such names")
    with pytest.raises(InputRefused) as caught:
        load_visit(odd / "STG-1" / "2026-05-19")
    assert "found the folder name 's\\udcffte', which is no UTF-8; rename the folder." in str(caught.value)


def case_is_told_apart(folder: Path) -> bool:
    (folder / "probe").touch()
    return not (folder / "PROBE").exists()


def test_visits_whose_folders_differ_by_case_alone_are_refused(tmp_path):
    """Their records would fall into one folder on a system that does not tell case apart."""
    if not case_is_told_apart(tmp_path):
        pytest.skip("this system cannot hold two such folders")
    home = build_site(tmp_path, ROWS)
    paths = []
    for name in ("2026-05-19a", "2026-05-19A"):
        paths.append(home.with_name(name))
        paths[-1].mkdir()
        for file in home.iterdir():
            (paths[-1] / file.name).write_bytes(file.read_bytes())
    with pytest.raises(InputRefused, match="the folder name '2026-05-19A' beside '2026-05-19a'; some systems"):
        load_visits(paths)


def test_assets_whose_tags_differ_by_case_alone_are_refused(tmp_path):
    homes = [build_site(tmp_path / "one", ROWS)]
    homes.append(build_site(tmp_path / "two", ROWS, asset=ASSET.replace('tag = "STG-1"', 'tag = "stg-1"')))
    with pytest.raises(InputRefused, match="tags name folders: give each asset its own"):
        load_visits(homes)


def test_all_names_that_collide_are_told_at_once_and_each_once(tmp_path):
    homes = [build_site(tmp_path / "one", ROWS)]
    for name in ("two", "three"):
        home = build_site(tmp_path / name, ROWS, asset=ASSET.replace('tag = "STG-1"', 'tag = "stg-1"'))
        home.parent.rename(home.parent.with_name(name))
        homes.append(tmp_path / name / name / home.name)
    later = shutil.copytree(homes[-1], homes[-1].with_name("2027-05-18"))
    with pytest.raises(InputRefused) as refused:
        load_visits([*homes, later])
    assert [line.split(":")[0] for line in str(refused.value).splitlines()] == [
        "three/asset.toml, key asset.tag",
        "two/asset.toml, key asset.tag",
    ]


def test_what_results_name_is_written_with_forward_slashes_everywhere():
    case = RecordCase(
        results_folder=PureWindowsPath("C:\\out\\STG-1\\2026-05-19"),  # type: ignore[arg-type]
        asset="STG-1",
        visit="2026-05-19",
        channel="STG-1-V11",
        analysis="linearity",
        condition="as-found",
    )
    assert case.relative_record == "STG-1-V11/linearity.as-found.ipynb"
    assert str(case.record) == "C:\\out\\STG-1\\2026-05-19\\STG-1-V11\\linearity.as-found.ipynb"


@pytest.mark.parametrize(
    "name", ["linearity.as-found.ipynb", "linearity.as-found.html", "results.json", "STG-1-V11.pdf"]
)
def test_a_file_that_another_program_holds_open_is_named_and_the_next_run_does_the_rest(
    tmp_path, monkeypatch, capsys, name
):
    """On Windows a file that is open cannot be replaced: os.replace raises PermissionError."""
    home = build_site(tmp_path / "site", ROWS)
    command = ["run", str(home), "--out", str(tmp_path / "out"), "--analysis", "linearity", "--workers", "1"]
    assert main(command) == 0
    (home / "readings.csv").write_bytes((home / "readings.csv").read_bytes().replace(b"8.1", b"8.2"))
    capsys.readouterr()
    before = everything_below(tmp_path / "out")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", _refusing(name))
        assert main(command) == 3
        (said,) = capsys.readouterr().err.splitlines()
    assert name in said and "close it where it is open, or make it writable" in said and said.endswith(".")
    assert "Errno" not in said and ".partial" not in said
    after = everything_below(tmp_path / "out")
    held = next(path for path in before if path.name == name)
    assert after[held] == before[held]
    assert [path for path in after if path.name.startswith(".")] == []
    assert main(command) == 0
    assert main(["verify", str(tmp_path / "out"), "--inputs", str(tmp_path / "site")]) == 0


def _refusing(name: str):
    replace = Path.replace

    def refuse(self, target):
        if Path(target).name == name:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self), None, str(target))
        return replace(self, target)

    return refuse


@pytest.mark.parametrize("option", ["--csv", "--xlsx"])
def test_an_exported_table_that_is_open_elsewhere_is_named(tmp_path, monkeypatch, capsys, option):
    home = build_site(tmp_path / "site", ROWS)
    out = tmp_path / "out"
    assert main(["run", str(home), "--out", str(out), "--analysis", "linearity", "--no-pdf"]) == 0
    capsys.readouterr()
    monkeypatch.setattr(Path, "replace", _refusing("site.table"))
    assert main(["overview", str(out), option, str(tmp_path / "site.table")]) == 3
    said = capsys.readouterr().err
    assert said.startswith("This could not be done: ") and "site.table: Permission denied; close it" in said


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (OSError(errno.ENOSPC, "No space left on device", "a"), "a: No space left on device"),
        (OSError("odd\nthing"), "odd\\nthing"),
        (OSError(), "OSError"),
    ],
)
def test_what_a_file_system_refuses_is_one_line(error, said):
    assert file_trouble(error) == said


UNIX_ONLY = {
    "fcntl",
    "resource",
    "termios",
    "pwd",
    "grp",
    "pty",
    "posix",
    "syslog",
    "tty",
}  # Python's own documentation
UNIX_NAMES = {
    "SIGKILL",
    "SIGCHLD",
    "SIGHUP",
    "SIGUSR1",
    "SIGPROF",
    "setitimer",
    "fork",
    "getuid",
    "setsid",
    "pidfd_open",
}


@pytest.mark.parametrize("path", sorted(Path(vibcal_nb.__file__).parent.rglob("*.py")), ids=lambda path: path.stem)
def test_every_module_can_be_imported_where_there_is_no_unix(path):
    """What only Unix has is imported where its absence is caught, and named within functions alone."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    caught = {
        id(node)
        for part in ast.walk(tree)
        if isinstance(part, ast.Try) and any("ImportError" in ast.dump(handler) for handler in part.handlers)
        for node in ast.walk(part)
    }
    within = {id(n) for f in ast.walk(tree) if isinstance(f, ast.FunctionDef | ast.Lambda) for n in ast.walk(f)}
    imported = [
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom) and id(node) not in caught | within
        for alias in ([ast.alias(node.module or "")] if isinstance(node, ast.ImportFrom) else node.names)
    ]
    assert UNIX_ONLY & set(imported) == set()
    named = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute) and id(node) not in within}
    assert UNIX_NAMES & named == set()
