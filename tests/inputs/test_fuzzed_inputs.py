"""Broken and hostile input files: each is read rightly or refused in one sentence a problem.

The cases here are a small draw; `python -m tests.benchmarks.tables.bench_fuzz` tries tens of thousands.
"""

from __future__ import annotations

import io
import zipfile

import pytest

from tests.fuzzing import records, registers
from tests.fuzzing.inputs import CELLS, ROWS, try_case, write_csv
from tests.fuzzing.kinds import TRY, try_kind
from tests.fuzzing.sentences import check_sentences
from tests.support.sites.plants import ASSET, EQUIPMENT, build_site
from vibcal_nb.inputs.files.numbers_as_typed import NumberRefused, read_number
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.register.register import RegisterUnusable, append_rows
from vibcal_nb.running.commands.cli import main

CASES, FEW = 100, 25  # few of those that take long: verifying performs an analysis


def refusal(folder) -> str:
    with pytest.raises(InputRefused) as caught:
        load_visit(folder)
    check_sentences(str(caught.value))
    return str(caught.value)


@pytest.mark.parametrize("kind", TRY)
def test_mutated_files_are_read_rightly_or_refused_in_sentences(kind, tmp_path):
    outcomes = {
        try_kind(kind, seed, tmp_path / "site")
        for seed in range(FEW if kind in (*records.KINDS, *registers.KINDS) else CASES)
    }
    assert "refused" in outcomes and outcomes <= {"accepted", "refused"}
    assert "accepted" in outcomes or kind in ("record, forged", *records.CHANGES_ARE_TOLD)


@pytest.mark.parametrize(
    ("kind", "seed"),
    [
        ("equipment.toml", 3628),  # a coverage factor of 1e-300
        ("asset.toml", 331),  # a corner inside the flat part, which no reading can meet
        ("asset.toml", 883),  # channels = true
        ("asset.toml", 920),  # channels = [["turbine"]]
        ("asset.toml", 2284),  # rotors = [["turbine"]]
    ],
)
def test_cases_that_once_broke_something(kind, seed, tmp_path):
    assert try_case(kind, seed, tmp_path / "site") in ("accepted", "refused")


@pytest.mark.parametrize("changed", ["channels = true", 'channels = [["turbine"]]', "channels = 3"])
def test_channels_that_are_no_tables(changed, tmp_path):
    asset = '[asset]\ntag = "STG-1"\n'
    assert "channels" in refusal(build_site(tmp_path, ROWS, asset=changed + "\n" + asset))


def test_rotors_of_a_channel_that_are_no_names(tmp_path):
    asset = ASSET.replace('rotors = ["turbine"]', 'rotors = [["turbine"]]')
    assert "a list of names from [rotors]" in refusal(build_site(tmp_path, ROWS, asset=asset))


def test_limits_that_no_reading_could_meet_together(tmp_path):
    asset = ASSET.replace("flat_hz = [40, 200]", "flat_hz = [40, 600]")
    said = refusal(build_site(tmp_path, ROWS, asset=asset))
    assert "corner_high_hz" in said and "95 to 105 %" in said
    asset = ASSET.replace(
        "flat_hz = [40, 200]", "limits = [{ hz = 100, min_pct = 10, max_pct = 50 }]\nflat_hz = [40, 200]"
    )
    assert "limits[1]" in refusal(build_site(tmp_path, ROWS, asset=asset))


def test_a_coverage_factor_below_one_is_no_coverage_factor(tmp_path):
    equipment = EQUIPMENT.replace("k = 2\n", "k = 1e-300\n")
    assert "1 or more" in refusal(build_site(tmp_path, ROWS, equipment=equipment))


@pytest.mark.parametrize("text", ["1e-400", "0.0001e-390", "1e-16", "1e400", "-1e16"])
def test_numbers_that_no_reading_can_be(text):
    with pytest.raises(NumberRefused):
        read_number(text, decimal_comma=False)


@pytest.mark.parametrize("text", ["0", "0.000", "-0", "0e-400"])
def test_nothing_is_nothing(text):
    assert read_number(text, decimal_comma=False)[0] == 0.0


def test_a_cell_of_a_megabyte_gives_a_short_sentence(tmp_path):
    rows = [",".join(["x" * 1_000_000, *row.split(",")[1:]]) for row in ROWS[:3]]
    said = refusal(build_site(tmp_path, rows))
    assert len(said) < 3000


def test_ten_million_rows_are_refused_before_they_fill_the_memory(tmp_path):
    home = build_site(tmp_path, [])
    row = (ROWS[0] + "\n").encode()
    with (home / "readings.csv").open("wb") as file:
        file.write(write_csv(CELLS[:1]))
        for _ in range(100):
            file.write(row * 100_000)
    assert "MB" in refusal(home)


def _xlsx(tmp_path, parts: dict[str, bytes]) -> object:
    home = build_site(tmp_path, [])
    (home / "readings.csv").unlink()
    with zipfile.ZipFile(home / "readings.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return home


def _workbook_parts() -> dict[str, bytes]:
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(CELLS[0])
    buffer = io.BytesIO()
    book.save(buffer)
    with zipfile.ZipFile(buffer) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_a_workbook_that_unpacks_to_a_gigabyte(tmp_path):
    parts = _workbook_parts() | {"xl/media/zeros.bin": b"\0" * 300_000_000}
    assert "once unpacked" in refusal(_xlsx(tmp_path, parts))


def test_a_workbook_whose_entities_grow_without_end(tmp_path):
    lines = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    bomb = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "aaaaaaaaaa">{lines}]><x>&a11;</x>'.encode()
    for name in ("xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/sharedStrings.xml", "[Content_Types].xml"):
        refusal(_xlsx(tmp_path / name.replace("/", "_"), _workbook_parts() | {name: bomb}))


@pytest.mark.parametrize("linked", ["STG-1", "STG-1/2026-05-19"])
def test_a_folder_that_is_a_link_out_of_the_site_is_refused(tmp_path, linked):
    home = build_site(tmp_path / "site", ROWS)
    elsewhere = tmp_path / "elsewhere"
    (tmp_path / "site" / linked).rename(elsewhere)
    try:
        (tmp_path / "site" / linked).symlink_to(elsewhere, target_is_directory=True)
    except OSError:
        pytest.skip("this system lets nobody make links")
    assert "visit.toml: found a link that leads out of the site's folder" in refusal(home)


@pytest.mark.parametrize("linked", ["STG-1", "STG-1/2026-05-19", "STG-1/2026-05-19/STG-1-V11"])
def test_nothing_is_written_through_a_link_in_the_output_folder(tmp_path, capsys, linked):
    home = build_site(tmp_path / "site", ROWS)
    elsewhere, link = tmp_path / "elsewhere", tmp_path / "out" / linked
    elsewhere.mkdir()
    link.parent.mkdir(parents=True)
    try:
        link.symlink_to(elsewhere, target_is_directory=True)
    except OSError:
        pytest.skip("this system lets nobody make links")
    assert main(["run", str(home), "--out", str(tmp_path / "out"), "--no-pdf"]) == 2
    assert "a link leads out of the output folder; remove it" in capsys.readouterr().err
    assert list(elsewhere.iterdir()) == []


def test_a_register_that_is_a_link_is_not_written_to(tmp_path):
    elsewhere = tmp_path / "other.sqlite"
    (tmp_path / "records").mkdir()
    try:
        (tmp_path / "records" / "register.sqlite").symlink_to(elsewhere)
    except OSError:
        pytest.skip("this system lets nobody make links")
    with pytest.raises(RegisterUnusable, match="a link that leads elsewhere; remove it"):
        append_rows(tmp_path / "records" / "register.sqlite", [])
    assert rebuild_register(tmp_path / "records").rows == 0
    assert not (tmp_path / "records" / "register.sqlite").is_symlink() and not elsewhere.exists()


def test_a_link_out_of_the_site_is_refused(tmp_path):
    secret = tmp_path / "elsewhere.csv"
    secret.write_text("secret\n", encoding="utf-8")
    home = build_site(tmp_path / "site", [])
    (home / "readings.csv").unlink()
    try:
        (home / "readings.csv").symlink_to(secret)
    except OSError:
        pytest.skip("this system lets nobody make links")
    said = refusal(home)
    assert "a link that leads out of the site" in said and "secret" not in said
