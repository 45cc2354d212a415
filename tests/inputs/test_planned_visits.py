"""A visit without readings is planned: it is counted, and stops nothing; a row that is read again is no longer open."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import ASSET, HEADINGS, VISIT, build_site, linearity_rows
from vibcal_nb.inputs.earlier_visits import load_history
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused
from vibcal_nb.running.commands.cli import main

BLANK = "STG-1-V11,linearity,as-found,50,,mm/s pk,,mV pk,,,,"
SHEET = HEADINGS + ",planned"


def plan(site, day, rows=(), *, by=""):
    home = site / "STG-1" / day
    home.mkdir()
    text = VISIT.replace("2026-05-19", day).replace('"Technician A"', f'"{by}"')
    (home / "visit.toml").write_text(text, encoding="utf-8")
    if rows:
        (home / "readings.csv").write_text("\n".join([HEADINGS, *rows]), encoding="utf-8")
    return home


@pytest.mark.parametrize("rows", [(), (BLANK, BLANK.replace(",,mm/s", ",2,mm/s"))], ids=["no table", "a blank sheet"])
def test_a_visit_without_readings_is_planned(tmp_path, rows):
    build_site(tmp_path, linearity_rows())
    visit = load_visit(plan(tmp_path, "2027-05-11", rows))
    assert visit.is_planned
    assert len(visit.table.open) == len(rows)


def test_a_table_of_headings_alone_is_that_of_a_planned_visit(tmp_path):
    assert load_visit(build_site(tmp_path, [])).is_planned


def test_a_table_under_another_name_is_not_taken_for_none(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    (home / "readings.csv").rename(home / "Readings.CSV")
    with pytest.raises(InputRefused, match=r"no such file, but 'Readings.CSV'"):
        load_visit(home)


def test_who_took_the_readings_is_asked_for_once_there_are_any(tmp_path):
    visit = VISIT.replace('"Technician A"', '""')
    with pytest.raises(InputRefused, match="performed_by: found nothing; give who took the readings"):
        load_visit(build_site(tmp_path, linearity_rows(), visit=visit))
    assert load_visit(build_site(tmp_path, [BLANK], visit=visit)).is_planned


def test_a_planned_visit_is_counted_by_check_and_by_run_and_stops_neither(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    site = tmp_path / "site"
    build_site(site, linearity_rows())
    plan(site, "2027-05-11", [BLANK])
    assert main(["check", str(site)]) in (0, 1)
    said = capsys.readouterr().out
    assert "STG-1 2027-05-11: planned for 2027-05-11, 1 row to read; no problem found" in said
    assert main(["run", str(site), "--analysis", "linearity", "--latest", "--no-pdf"]) in (0, 1)
    said = capsys.readouterr().out
    assert "STG-1 2027-05-11: planned for 2027-05-11, 1 row to read." in said
    assert "1 record made" in said
    assert (tmp_path / "records" / "STG-1" / "2026-05-19" / "results.json").exists()


def test_check_holds_the_certificates_against_the_planned_day(tmp_path, capsys):
    build_site(tmp_path, linearity_rows())
    plan(tmp_path, "2027-05-11", [BLANK])
    main(["check", str(tmp_path)])
    said = capsys.readouterr().out
    assert "the certificate of REF-1 will have run out on 2027-01-10; the visit is planned for 2027-05-11" in said


def test_a_planned_visit_that_is_past_is_asked_about(tmp_path, capsys):
    build_site(tmp_path, linearity_rows())
    plan(tmp_path, "2025-05-11", [BLANK])
    main(["check", str(tmp_path)])
    assert "date is 2025-05-11, which has passed, and there is no reading yet" in capsys.readouterr().out


def test_a_planned_visit_is_no_part_of_a_channels_history(tmp_path):
    home = build_site(tmp_path, linearity_rows())
    plan(tmp_path, "2025-05-11", [BLANK])
    plan(tmp_path, "2027-05-11", ["x"])  # and one that could not even be read
    assert [visit.path.name for visit in load_history(home, channel="STG-1-V11")] == ["2026-05-19"]


def test_an_asset_that_nobody_has_been_to_is_checked_without_a_visit(tmp_path, capsys):
    (tmp_path / "STG-1").mkdir()
    build_site(tmp_path / "other", linearity_rows())
    (tmp_path / "equipment.toml").write_bytes((tmp_path / "other" / "equipment.toml").read_bytes())
    (tmp_path / "STG-1" / "asset.toml").write_text(ASSET, encoding="utf-8")
    assert main(["check", str(tmp_path / "STG-1")]) == 0
    assert "STG-1: 1 channel, no visit yet; no problem found" in capsys.readouterr().out


def open_rows(tmp_path, rows):
    table = load_visit(build_site(tmp_path, rows, headings=SHEET)).table
    return [row.row for row in table.open], [row.exclude for row in table.pending]


def planned_row(level, *, output="", applied="", hz=50, exclude="", direction=""):
    return f"STG-1-V11,linearity,as-found,{hz},{applied},mm/s pk,{output},mV pk,{direction},,{exclude},,{level}"


@pytest.mark.parametrize(
    ("again", "closed"),
    [
        (planned_row("", applied=10.1, output=40.4), True),
        (planned_row("", applied=10.4, output=41.6), False),
        (planned_row("", applied=10.1, output=40.4, hz=51), False),
        (planned_row("", applied=10.1, output=40.4, direction="falling"), False),
        (planned_row("", applied=10.1, output=40.4, exclude="cable touched"), True),
    ],
    ids=["the same", "another level", "another frequency", "another direction", "struck out itself"],
)
def test_a_row_that_is_read_again_below_is_no_longer_open(tmp_path, again, closed):
    rows = [planned_row(5, applied=5, output=20), planned_row(10), planned_row(15), again]
    still, why = open_rows(tmp_path, rows)
    assert still == ([4] if closed else [3, 4])
    assert why[0] == ("read again in row 5" if closed else None)


def test_the_same_level_in_another_unit_is_the_same_reading(tmp_path):
    in_rms = planned_row("", applied=7.07, output=40.4).replace("mm/s pk", "mm/s rms")
    still, _ = open_rows(tmp_path, [planned_row(10), in_rms])
    assert still == []


def test_a_row_that_a_person_gave_up_keeps_the_persons_reason(tmp_path):
    still, why = open_rows(tmp_path, [planned_row(10, exclude="hook in the way"), planned_row(9, applied=9, output=36)])
    assert still == []
    assert why == ["hook in the way"]


def test_spare_rows_in_which_only_a_sheets_own_columns_stand_are_no_rows(tmp_path):
    read, spare = planned_row(5, applied=5, output=20), ",,,,,,,,,,,,=1+1"
    table = load_visit(build_site(tmp_path, [read, spare], headings=SHEET)).table
    assert (len(table.readings), table.pending) == (1, ())
    with pytest.raises(InputRefused, match="row 3, column channel: found nothing"):
        load_visit(build_site(tmp_path, [read, ",,,,,,,20,,,,,1"], headings=SHEET))
