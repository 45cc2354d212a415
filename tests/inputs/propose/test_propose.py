"""Proposals for old tables: what is made out, why, and what stays open; nothing is read by a proposal alone."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import openpyxl
import pytest

from tests.support.sites.old_workbooks import ALL, GAIN, levels_in_columns, logger_text, sheet_a_channel, side_by_side
from vibcal_nb.inputs.grids.read_grids import read_grids
from vibcal_nb.inputs.layout.read_layout import read_layout_file
from vibcal_nb.inputs.propose.heads import take_apart, value_in
from vibcal_nb.inputs.propose.layout_text import layout_text
from vibcal_nb.inputs.propose.propose import propose_layout
from vibcal_nb.inputs.propose.trade_words import CONDITION_WORDS, TEST_WORDS, said_in
from vibcal_nb.inputs.read_laid_out import read_laid_out

UNITS = {"applied_unit": "mm/s pk", "output_unit": "mV pk"}


def proposal_for(old):
    return propose_layout(old.path, read_grids(old.path, []), tags=list(GAIN))


def read_by(path, layout):
    problems = []
    found = read_laid_out(path, problems, asset=None, layout=layout)
    assert not problems, problems[0].sentence
    return {
        (r.channel, r.test, r.condition, round(r.frequency_hz, 6), r.applied, r.applied_unit, r.output, r.output_unit)
        for r in found.table.readings
    }


def layout_in(text, folder):
    problems = []
    (folder / "layout.toml").write_text(text, encoding="utf-8")
    layout = read_layout_file(folder / "layout.toml", problems)
    assert not problems, problems[0].sentence
    return layout


@pytest.mark.parametrize(
    ("make", "stated", "open_"),
    [
        (sheet_a_channel, {}, 0),
        (side_by_side, UNITS, 2),
        (logger_text, {**UNITS, "condition": "as-found"}, 3),
        (levels_in_columns, UNITS, 2),
    ],
    ids=lambda item: getattr(item, "__name__", None),
)
def test_a_proposal_with_what_it_leaves_open_reads_what_a_person_made_of_the_table(make, stated, open_, tmp_path):
    old = make(tmp_path)
    proposal = proposal_for(old)
    assert len(proposal.open) == open_
    parts = tuple(replace(part, constants={**part.constants, **stated}) for part in proposal.layout.parts)
    by_hand = layout_in(old.layout, tmp_path)
    assert read_by(old.path, replace(proposal.layout, parts=parts)) == read_by(old.path, by_hand)


@pytest.mark.parametrize("make", ALL)
def test_a_proposal_as_a_file_is_the_same_layout(make, tmp_path):
    proposal = proposal_for(make(tmp_path))
    text = layout_text(proposal.layout, reasons=proposal.reasons, open_=proposal.open)
    assert tomllib.loads(text)
    assert layout_in(text, tmp_path) == proposal.layout
    for sentence in (*proposal.reasons, *proposal.open):
        assert " ".join(sentence.split()) in text


def test_a_detector_that_is_not_stated_is_open_with_what_would_complete_it(tmp_path):
    said = proposal_for(side_by_side(tmp_path)).open
    assert said == (
        "row 3: the detector of applied: give applied_unit as mm/s pk, mm/s rms, mm/s pkpk",
        "row 3: the detector of output: give output_unit as mV pk, mV rms, mV pkpk, mV dc",
    )


def test_every_choice_has_its_reason(tmp_path):
    reasons = proposal_for(sheet_a_channel(tmp_path)).reasons
    assert "test linearity: A5 says '1. Linearity at 50 Hz'" in reasons
    assert "condition: B3, where 'as received' means as-found" in reasons
    assert "channel STG-1-{sheet}: each sheet's name is a channel" in reasons


def test_a_column_whose_words_are_not_known_is_open_and_not_guessed(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Level", "Output", "Gizmo"])
    for level in (1, 2, 5):
        sheet.append([level, 4 * level, 7.3])
    book.save(tmp_path / "a.xlsx")
    grids = read_grids(tmp_path / "a.xlsx", [])
    proposal = propose_layout(tmp_path / "a.xlsx", grids)
    assert any(sentence.startswith("row 1: what Gizmo is") for sentence in proposal.open)
    problems = []
    assert read_laid_out(tmp_path / "a.xlsx", problems, asset=None, layout=proposal.layout).table is None
    assert any("numbers below 'Gizmo'" in problem.sentence for problem in problems)


def test_sheets_of_another_form_are_named(tmp_path):
    old = sheet_a_channel(tmp_path)
    book = openpyxl.load_workbook(old.path)
    other = book.create_sheet("V13")
    for row in (["Pegel", "Ausgang"], [1, 4], [2, 8]):
        other.append(row)
    book.save(old.path)
    proposal = proposal_for(old)
    assert proposal.layout.sheets == ("V11", "V12")
    assert "the sheet V13 has tables of another form: it needs a layout of its own" in proposal.open


def test_a_file_without_a_table_has_no_proposal(tmp_path):
    (tmp_path / "a.csv").write_text("dear colleague\nplease find 3 things\n", encoding="utf-8")
    assert propose_layout(tmp_path / "a.csv", read_grids(tmp_path / "a.csv", [])) is None


@pytest.mark.parametrize(
    ("heading", "words", "unit"),
    [
        ("Output [mV pk]", "output", "mV pk"),
        ("Level, mm/s", "level", "mm/s"),
        ("Freq. (Hz)", "freq.", "Hz"),
        ("Drehzahl", "drehzahl", ""),
    ],
)
def test_headings_are_taken_apart(heading, words, unit):
    head = take_apart(heading)
    assert (head.words, head.unit) == (words, unit)


@pytest.mark.parametrize(("text", "value"), [("5 mm/s", "5"), ("2,5", "2.5"), ("5 bags", None), ("V11", None)])
def test_headings_that_are_values(text, value):
    assert value_in(text) == value


def test_words_count_only_whole():
    assert said_in("Linearity check as received", TEST_WORDS) == ["linearity"]
    assert said_in("foundation bolts, leftover", CONDITION_WORDS) == []
    assert said_in("vor Justage", CONDITION_WORDS) == ["as-found"]
