"""Cells whose sources differ are told line by line, as nbdime pairs them; without it, that they are not."""

from __future__ import annotations

import re
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nbformat.v4 import new_code_cell

from tests.support.kept.sealed_record import executed, keep
from vibcal_nb.records.compare.cell_changes import NOT_TOLD, cell_changes
from vibcal_nb.records.compare.comparison import compare_records, open_record

FIRST = "line = fit(case)\nshow.points(line)\nkeep(line)"


def record(folder, source=FIRST, *, further=()):
    notebook = executed()
    notebook.cells[1].source = source
    notebook.cells[1:1] = further
    return open_record(keep(folder, notebook))


def cells(tmp_path, source, **options):
    return compare_records(record(tmp_path / "a"), record(tmp_path / "b", source, **options)).cells


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (
            FIRST.replace("fit(case)", "fit(case, weights)"),
            ["line 1: from line = fit(case) to line = fit(case, weights)"],
        ),
        (FIRST.replace("show.points(line)\n", ""), ["line 2 taken out: show.points(line)"]),
        (FIRST.replace("keep", "show.figure(line)\nkeep"), ["after line 2 added: show.figure(line)"]),
        (f"import this\n{FIRST}", ["at the beginning added: import this"]),
        (f"{FIRST}\n", ["line 3: blanks, the end of the line or what stands behind 200 characters"]),
    ],
)
def test_the_lines_of_a_source_that_differ_are_named(tmp_path, source, said):
    assert cells(tmp_path, source) == ("cell points: source differs", *(f"cell points, {text}" for text in said))


def test_a_cell_that_was_added_is_named_once(tmp_path):
    added = new_code_cell("show.more(line)", id="further")
    assert cells(tmp_path, FIRST, further=[added]) == ("cell further: in the later alone",)


def test_without_nbdime_it_is_said_once_that_lines_are_not_told(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "nbdime.diffing.sequences", None)
    assert cells(tmp_path, "keep(line)") == ("cell points: source differs", NOT_TOLD)


def test_nothing_is_loaded_where_no_source_differs(tmp_path, monkeypatch):
    monkeypatch.setattr("vibcal_nb.records.compare.cell_changes._tools", lambda: pytest.fail("nbdime was loaded"))
    assert cells(tmp_path, FIRST) == ()


def test_a_source_of_very_many_lines_is_not_compared_line_by_line(tmp_path):
    _, said = cells(tmp_path, "x\n" * 2001)
    assert said == "cell points, of more than 2000 lines: which of them differ is not told"


def test_of_many_lines_the_first_are_told_and_how_many_more_there_are(tmp_path):
    said = cells(tmp_path, "".join(f"step_{n}()\n" for n in range(30)))
    assert len(said) == 22
    assert said[-1].startswith("cell points, and ")


LINES = st.lists(st.sampled_from(["a = 1", "b = 2", "c = 3", "d = 4", "show(a)"]), max_size=8)


def content(source):
    return {"cells": [{"id": "one", "source": source}]}


def followed(lines, told):
    """Return the lines that come of doing what is told; ends of lines are not looked at."""
    instead, after = {}, {}
    for text in told:
        if match := re.fullmatch(r"line (\d+): from .* to (.*)", text):
            instead[int(match[1])] = [match[2]]
        elif match := re.fullmatch(r"line (\d+) taken out: .*", text):
            instead[int(match[1])] = []
        elif match := re.fullmatch(r"(?:after line (\d+)|at the beginning) added: (.*)", text):
            after.setdefault(int(match[1] or 0), []).append(match[2])
    found = list(after.get(0, []))
    for number, line in enumerate(lines, start=1):
        found += [*instead.get(number, [line]), *after.get(number, [])]
    return found


@settings(deadline=None)
@given(before=LINES, after=LINES)
def test_who_does_what_is_told_comes_from_the_one_to_the_other(before, after):
    old, new = "\n".join(before), "\n".join(after)
    parts = ({"cell 'one', source": old}, {"cell 'one', source": new})
    said = list(cell_changes(content(old), content(new), parts=parts))
    assert bool(said) == (old != new)
    assert followed(before, [text.removeprefix("cell one, ") for text in said[1:]]) == after
