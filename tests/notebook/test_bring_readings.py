"""The notebook for old tables: what it shows, what its choices do, and what it writes."""

from __future__ import annotations

import re
import shutil

import pytest
from ipywidgets import Dropdown, Text

from tests.demo_site.old_tables import NAME
from tests.support.places import DEMO
from vibcal_nb.inputs.layout.read_layout import read_layout_file
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.notebook.old_tables import open_old_table, show_original, write_readings_of
from vibcal_nb.notebook.panels.layout_panel import LEFT_OUT, NOT_NAMED, LayoutPanel
from vibcal_nb.notebook.show.show_old_tables import deviations_picture, meanings
from vibcal_nb.problems import InputRefused, NotDone, ParameterError


@pytest.fixture
def visit(tmp_path):
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, tmp_path)
    home = tmp_path / "FDF-3" / "2023-05-09"
    home.mkdir(parents=True)
    shutil.copy(DEMO / "FDF-3" / "asset.toml", home.parent)
    text = (DEMO / "FDF-3" / "2024-05-07" / "visit.toml").read_text(encoding="utf-8")
    (home / "visit.toml").write_text(text.replace("2024-05-07", "2023-05-09"), encoding="utf-8")
    return home


def opened(visit, *, file=DEMO / "old_tables" / NAME, layout=""):
    return open_old_table({}, table_file=str(file), visit_folder=str(visit), layout_file=layout)


def controls(widget):
    found = {}
    for child in getattr(widget, "children", ()):
        if isinstance(child, Dropdown | Text):
            found.setdefault(child.description, []).append(child)
        for name, items in controls(child).items():
            found.setdefault(name, []).extend(items)
    return found


def test_the_demo_workbook_is_made_out_and_all_that_it_states_agrees(visit):
    old = opened(visit)
    assert old.open == ()
    assert (old.brought.problems, old.brought.questions) == ((), ())
    assert (old.brought.compared.count, old.brought.compared.agree) == (24, 24)
    assert len(old.brought.readings) == 124


def test_every_cell_of_the_workbook_says_what_it_was_taken_for(visit, capsys):
    old = opened(visit)
    meant = meanings(old.brought)
    cells = {
        (NAME, grid.name, f"{'ABCDE'[column]}{row}")
        for grid in old.brought.files[0].table.grids
        for row, column, _ in grid.filled()
    }
    assert set(meant) == cells
    assert meant[NAME, "V11", "B8"] == ("output", True)
    assert meant[NAME, "V11", "C8"] == ("worked out, or planned", False)
    show_original(old)


def test_a_choice_reads_the_table_anew_and_the_layout_can_be_kept(visit, tmp_path, monkeypatch):
    monkeypatch.chdir(visit)
    panel = LayoutPanel(opened(visit))
    level, _ = controls(panel.widget)["Level"]
    level.value = NOT_NAMED
    assert "to mend" in panel.said.value
    assert "&#x27;Level&#x27;, which the layout does not name" in panel.said.value
    level.value = LEFT_OUT
    assert "to mend" in panel.said.value  # a reading has no level then
    level.value = "applied"
    assert "124 readings" in panel.said.value
    condition = controls(panel.widget)["condition"][0]
    condition.value = "as-left"
    assert {r.condition for r in panel.brought.readings if r.test == "linearity"} == {"as-found"}  # the cell says so
    panel.name.value = "kept.toml"
    panel.keep()
    assert read_layout_file(tmp_path / "kept.toml", []) == panel.layout
    panel.keep()
    assert "is there already" in panel.kept.value


def test_readings_are_written_only_when_asked_for_and_never_over_others(visit):
    old = opened(visit)
    write_readings_of(old, write_readings=False)
    assert not (visit / "readings.csv").exists()
    write_readings_of(old, write_readings=True)
    assert len(load_visit(visit).table.readings) == 124
    with pytest.raises(NotDone, match="not overwritten"):
        write_readings_of(old, write_readings=True)


def test_the_picture_says_in_words_what_it_shows(visit):
    old = opened(visit)
    assert re.search(r"FDF-3-V11: [+-]\d\.\d to [+-]\d\.\d %", deviations_picture(old.brought, old.asset).text)


def test_wrong_parameters_are_refused_in_sentences(visit, tmp_path):
    with pytest.raises(InputRefused, match="no such file"):
        opened(visit, file=tmp_path / "none.xlsx")
    with pytest.raises(InputRefused, match="no such file"):
        opened(visit, layout=str(tmp_path / "none.toml"))
    with pytest.raises(ParameterError, match="layout_file"):
        opened(visit, layout=None)
