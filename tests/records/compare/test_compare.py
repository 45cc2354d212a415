"""Differences planted between two records, one at a time: each is named, and nothing else is."""

from __future__ import annotations

import copy
import re

import pytest

from tests.support.kept.sealed_record import ENTRY, INPUTS, ROWS, STAMP, executed, keep
from vibcal_nb.problems import Refused
from vibcal_nb.records.compare.comparison import compare_records, earlier_revision, open_record
from vibcal_nb.records.compare.comparison_page import comparison_page
from vibcal_nb.records.compare.comparison_words import SAME, comparison_lines
from vibcal_nb.records.compare.number_changes import number_changes
from vibcal_nb.running.commands.cli import main

QUANTITIES = [
    {
        "frequency_hz": 50.0,
        "sensitivity": 4.05,
        "expanded_uncertainty": 0.05,
        "nonlinearity_pct": {"independent": 0.2},
        "verdict": "pass",
        "points": [
            {"applied": 10.0, "deviation_pct": 1.0, "expanded_uncertainty_pct": 0.5, "verdict": "pass"},
            {"applied": 20.0, "deviation_pct": 1.2, "expanded_uncertainty_pct": 0.5, "verdict": "pass"},
        ],
    },
    {"frequency_hz": 149.0, "sensitivity": 4.0, "expanded_uncertainty": 0.05, "verdict": "pass", "points": []},
]
GATE = {"gate": "reference", "sentence": "No reference is named."}
FULL = {**ENTRY, "quantities": QUANTITIES, "gates": []}


def visit(inputs):
    return inputs["visits"][0]


def put(place, key, value):
    def change(inputs, entry, stamp):
        place(inputs, entry, stamp)[key] = value

    return change


def in_visit(*keys):
    def place(inputs, entry, stamp):
        found = visit(inputs)
        for key in keys:
            found = found[key]
        return found

    return place


def in_entry(*keys):
    def place(inputs, entry, stamp):
        found = entry
        for key in keys:
            found = found[key]
        return found

    return place


def in_stamp(inputs, entry, stamp):
    return stamp


def row(text):
    return put(in_visit("rows"), "linearity as-found", [ROWS[0], text])


def rows(*texts):
    return put(in_visit("rows"), "linearity as-found", [ROWS[0], *texts])


READ = '[2,50.0,20.12,"mm/s pk",81.5,"mV pk"]'
LINE, POINT = in_entry("quantities", 0), in_entry("quantities", 0, "points", 1)
PLANTED = {
    "output of a row": (row('[2,50.0,20.12,"mm/s pk",81.9,"mV pk"]'), "row 2 .*output: from 81.5 to 81.9"),
    "level of a row": (row('[2,50.0,20.2,"mm/s pk",81.5,"mV pk"]'), "row 2 .*applied: from 20.12 to 20.2"),
    "frequency of a row": (row('[2,49.0,20.12,"mm/s pk",81.5,"mV pk"]'), "row 2 .*frequency_hz: from 50.0 to 49.0"),
    "unit of a row": (row('[2,50.0,20.12,"mm/s rms",81.5,"mV pk"]'), "applied_unit: from mm/s pk to mm/s rms"),
    "output unit of a row": (row('[2,50.0,20.12,"mm/s pk",81.5,"mV rms"]'), "output_unit: from mV pk to mV rms"),
    "a row added": (rows(READ, '[3,50.0,10.0,"mm/s pk",40.5,"mV pk"]'), "row 3 of linearity as-found added: 50.0 10.0"),
    "a row taken out": (rows(), "row 2 of linearity as-found removed"),
    "tolerance": (
        put(in_visit("channel"), "tolerance_pct", 7.0),
        "limits of the channel, tolerance_pct: from 5.0 to 7.0",
    ),
    "trip": (put(in_visit("channel"), "trip", 18.0), "limits of the channel, trip: from nothing to 18.0"),
    "serial": (put(in_visit("channel"), "items", [{"serial": "S-2"}]), "limits of the channel, items: from nothing"),
    "name of the asset": (put(in_visit("asset"), "name", "pump"), "asset, name: from turbine to pump"),
    "who performed": (put(in_visit("visit"), "performed_by", "Technician B"), "performed_by: from Technician A"),
    "date": (put(in_visit("visit"), "date", "2026-05-20"), "date: from 2026-05-19 to 2026-05-20"),
    "ambient": (put(in_visit("visit"), "ambient_c", 31.0), "ambient_c: from nothing to 31.0"),
    "another certificate": (
        put(in_visit("references", 0), "calibrated", "2026-02-01"),
        "of REF-1, calibrated",
    ),
    "uncertainty of a reference": (
        put(in_visit("references", 0), "expanded_pct", 2.0),
        "of REF-1, expanded",
    ),
    "another reference": (put(in_visit(), "references", [{"id": "REF-2"}]), "certificate of REF-1: used no longer"),
    "a readout more": (put(in_visit(), "readouts", [{"id": "DVM-1"}]), "certificate of DVM-1: used, too"),
    "name of the table": (put(in_visit(), "table", "readings.xlsx"), "table: from readings.csv to readings.xlsx"),
    "a row not yet read": (
        put(in_visit(), "pending", {"linearity as-found": [{"row": 9, "applied": 5.0}]}),
        "not yet read",
    ),
    "verdict": (put(in_entry(), "verdict", "fail"), "verdict: from pass to fail"),
    "statement": (put(in_entry(), "statement", "Otherwise."), "statement: from .* to Otherwise"),
    "a gate": (put(in_entry(), "gates", [GATE]), "gate reference: now. No reference is named."),
    "why undetermined": (
        put(in_entry("undetermined"), "k", "no reading"),
        "undetermined, k: .* to no reading",
    ),
    "sensitivity": (put(LINE, "sensitivity", 4.1), r"at 50 Hz, sensitivity: 4.05 → 4.1  \(\+0.05, \+1 U\)"),
    "verdict of a line": (put(LINE, "verdict", "fail"), "at 50 Hz, verdict: from pass to fail"),
    "non-linearity": (put(in_entry("quantities", 0, "nonlinearity_pct"), "independent", 0.3), "independent: 0.2 → 0.3"),
    "a number gone": (put(LINE, "sensitivity", None), "at 50 Hz, sensitivity: 4.05 → –"),
    "a number more": (put(LINE, "bow_pct", 0.1), "at 50 Hz, bow, %: – → 0.1"),
    "deviation of a reading": (
        put(POINT, "deviation_pct", 1.7),
        r"reading 2, dev.*: 1.2 → 1.7  \(\+0.5, \+1 U\)",
    ),
    "verdict of a reading": (put(POINT, "verdict", "fail"), "at 50 Hz, reading 2, verdict: from pass to fail"),
    "level of a reading": (put(POINT, "applied", 21.0), "at 50 Hz, reading 2, applied: 20 → 21"),
    "a reading excluded": (put(POINT, "excluded", "slip"), "reading 2, excluded: from nothing to slip"),
    "speed": (put(in_entry("quantities", 1), "frequency_hz", 150.0), "at 150 Hz, sensitivity: – → 4"),
    "a line more": (
        lambda inputs, entry, stamp: entry["quantities"].append({"frequency_hz": 25.0, "sensitivity": 4.0}),
        "at 25 Hz, sensitivity: – → 4",
    ),
    "version": (put(in_stamp, "version", "0.2.0"), "software version: from 0.1.0 to 0.2.0"),
    "sources": (put(in_stamp, "package_sha256", "3" * 64), "software: other sources of the same version"),
    "notebook": (put(in_stamp, "notebook", {"file": "linearity.ipynb", "sha256": "4" * 64}), "notebook: from"),
}


def record(folder, change=lambda *_: None, **options):
    inputs, entry, stamp = copy.deepcopy(INPUTS), copy.deepcopy(FULL), copy.deepcopy(STAMP)
    change(inputs, entry, stamp)
    return open_record(keep(folder, executed(entry, inputs=inputs, **options), stamp=stamp))


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_difference_is_named(tmp_path, name):
    change, expected = PLANTED[name]
    lines = list(comparison_lines(compare_records(record(tmp_path / "a"), record(tmp_path / "b", change))))
    assert any(re.search(expected, line) for line in lines), lines
    assert SAME not in lines


def test_two_that_are_alike_say_so(tmp_path):
    comparison = compare_records(record(tmp_path / "a"), record(tmp_path / "b"))
    assert comparison.is_empty
    assert SAME in list(comparison_lines(comparison))
    assert comparison.same_numbers == 7


def test_what_is_shown_otherwise_is_named_by_its_cell(tmp_path):
    other = record(tmp_path / "b", table="<table><tr><td>20.13 mm/s pk</td></tr></table>")
    assert compare_records(record(tmp_path / "a"), other).cells == ("cell points: output differs",)


def test_a_record_is_compared_with_the_revision_that_it_replaced(tmp_path):
    record(tmp_path)
    later = record(tmp_path, PLANTED["tolerance"][0])
    comparison = compare_records(earlier_revision(later), later)
    assert comparison.made_from == ("limits of the channel, tolerance_pct: from 5.0 to 7.0",)


def test_a_first_revision_has_nothing_before_it(tmp_path):
    with pytest.raises(Refused, match="first revision"):
        earlier_revision(record(tmp_path))


def test_an_altered_record_is_not_compared(tmp_path):
    path = record(tmp_path).path
    path.write_bytes(path.read_bytes().replace(b"20.12", b"20.13", 1))
    with pytest.raises(Refused, match="see verify"):
        open_record(path)


def test_visits_of_other_names_are_compared_as_one(tmp_path):
    other = record(tmp_path / "b", put(in_visit(), "name", "2027-03-01"))
    assert compare_records(record(tmp_path / "a"), other).made_from == ()


def as_left(inputs, entry, stamp):
    entry["condition"] = "as-left"
    own = visit(inputs)
    own["rows"] = {"linearity as-left": [ROWS[0], '[9,50.0,20.0,"mm/s pk",80.1,"mV pk"]']}
    for point in entry["quantities"][0]["points"]:
        point["verdict"] = "fail"


def test_the_readings_of_another_condition_are_other_readings_and_no_rows_that_were_changed(tmp_path):
    later = record(tmp_path / "b", as_left)
    later.seal["record"] = {**later.seal["record"], "condition": "as-left"}
    later.seal["parameters"] = {**later.seal["parameters"], "condition": "as-left"}
    found = compare_records(record(tmp_path / "a"), later)
    assert found.made_from == (
        "linearity: 1 row (2 to 2) before, 1 row (9 to 9) after, held side by side in their order",
    )
    assert found.subject == ("record, condition: from as-found to as-left",)
    assert "at 50 Hz, readings 1 to 2, verdict: from pass to fail" in found.said


def test_readings_that_are_typed_alike_in_two_visits_are_said_to_be(tmp_path):
    later = record(tmp_path / "b")
    later.seal["record"] = {**later.seal["record"], "visit": "2027-03-01"}
    assert compare_records(record(tmp_path / "a"), later).made_from == ("linearity: 1 row, typed alike in both",)


def test_numbers_of_readings_are_folded_and_columns_that_say_nothing_left_out(tmp_path):
    page = comparison_page(
        compare_records(record(tmp_path / "a"), record(tmp_path / "b", PLANTED["level of a reading"][0]))
    )
    (folded,) = re.findall(r"<details>.*?</details>", page)
    assert "At 50 Hz, applied: 1 reading" in folded
    assert "change / U" not in folded
    assert "<th scope=row>2</th><td>20</td><td>21</td><td>+1</td>" in folded


@pytest.mark.parametrize("factor", [1e-3, 7.0])
def test_a_change_against_u_is_the_same_in_any_unit(factor):
    """A law: value and U scale together."""
    (one,), _ = number_changes(
        {"sensitivity": 4.0, "expanded_uncertainty": 0.1}, {"sensitivity": 4.2, "expanded_uncertainty": 0.1}
    )
    (other,), _ = number_changes(
        {"sensitivity": 4.0 * factor, "expanded_uncertainty": 0.1 * factor},
        {"sensitivity": 4.2 * factor, "expanded_uncertainty": 0.1 * factor},
    )
    assert one.against_u == pytest.approx(2.0)
    assert other.against_u == pytest.approx(2.0)


def test_the_page_holds_both_and_its_figure(tmp_path):
    page = comparison_page(compare_records(record(tmp_path / "a"), record(tmp_path / "b", PLANTED["sensitivity"][0])))
    assert "before (hollow)" in page
    assert "+1 U" in page
    assert "<script" not in page


def test_a_text_of_a_file_cannot_act_on_the_page(tmp_path):
    hostile = record(tmp_path / "b", put(in_entry(), "statement", "<img src=x onerror=alert(1)>"))
    page = comparison_page(compare_records(record(tmp_path / "a"), hostile))
    assert "<img src=x" not in page


def test_the_command_says_it_and_writes_the_page(tmp_path, capsys):
    first = record(tmp_path / "a").path
    second = record(tmp_path / "b", PLANTED["verdict"][0]).path
    page = tmp_path / "compared.html"
    assert main(["compare", first.as_posix(), second.as_posix(), "--html", page.as_posix()]) == 1
    assert "Verdict: pass before, fail after" in capsys.readouterr().out

    assert "fail after" in page.read_text(encoding="utf-8")


def test_the_command_refuses_in_a_sentence(tmp_path, capsys):
    assert main(["compare", (tmp_path / "none.ipynb").as_posix()]) == 2
    assert "give a record" in capsys.readouterr().err


def test_a_folder_in_a_records_place_is_named(tmp_path, capsys):
    assert main(["compare", tmp_path.as_posix()]) == 2
    assert capsys.readouterr().err.startswith(f"{tmp_path.as_posix()}: this is a folder; give one record in it")
