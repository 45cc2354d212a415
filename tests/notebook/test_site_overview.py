"""The site overview: the demo site, whose faults are known; a made-up large one; and people's own tables."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from datetime import date

import numpy as np
import openpyxl
import pytest

from tests.support.kept.register import tamper
from tests.support.pictures import words_in
from tests.support.places import DEMO
from tests.support.running.programs import call
from tests.support.sites.made_up_site import register_rows
from tests.support.sites.plants import build_site
from vibcal_nb.analysis.site.site_overview import overview_of
from vibcal_nb.display.site.margin_plots import margins_picture
from vibcal_nb.display.site.site_matrix import matrix_html, select_channels
from vibcal_nb.display.site.site_tables import actions_table, shifts_table, site_sentence
from vibcal_nb.inputs.load_visits import find_visits, load_visits
from vibcal_nb.notebook.panels.site_panel import build_site_panel
from vibcal_nb.notebook.site import open_site
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.register.read_site import read_site
from vibcal_nb.records.register.register import append_rows, register_path
from vibcal_nb.records.register.register_rows import make_row
from vibcal_nb.records.register.site_export import HEADINGS, inert, site_rows, write_csv, write_xlsx
from vibcal_nb.records.seal.intact import check_seal

ON = date(2026, 6, 15)


@pytest.fixture(scope="module")
def demo():
    return overview_of(read_site(DEMO), on=ON, interval_months=13.0)


def of(overview, channel):
    (state,) = [state for state in overview.channels if state.channel == channel]
    return state


def test_a_group_that_votes_is_counted_beside_the_channels(demo):
    """The asset files of the demo site state one group that votes."""
    assert [state.channel for state in demo.channels if state.is_group] == ["BFP-2-TRIP"]
    assert "20 channels and 1 group that votes of 4 assets" in site_sentence(demo)


def test_each_channel_of_the_demo_site_stands_where_its_fault_puts_it(demo):
    assert {state.channel: state.urgency for state in demo.channels if state.urgency < 8} == {
        "STG-1-V21": 1,  # its filter is wrong, and left so
        "BFP-2-A12": 1,  # the relay of its trip acts late
        "AUX-4-C32": 1,  # a moving coil without its damping
        "FDF-3-V21": 3,  # near its limit, guarded acceptance
        "STG-1-V32": 5,  # the pinion's trip is beyond the shaker, and nothing was injected
        "STG-1-V12": 6,  # gain mended
        "BFP-2-A22": 6,  # sensor exchanged
        "AUX-4-X21": 6,  # probe exchanged
        "STG-1-V11": 7,
        "BFP-2-A11": 7,
        "FDF-3-V12": 7,
    }
    assert of(demo, "STG-1-V12").tests["linearity"] == ("fail", "pass")
    assert of(demo, "STG-1-V12").verdict == "pass"
    assert of(demo, "STG-1-V11").tests["linearity"] == ("pass", None)  # nothing was read as left
    covered = [of(demo, tag) for tag in ("STG-1-V22", "STG-1-V31")]
    assert [(state.verdict, state.not_reached) for state in covered] == [("pass", ())] * 2  # by injection
    assert (of(demo, "STG-1-V32").verdict, len(of(demo, "STG-1-V32").not_reached)) == ("not verified", 1)
    assert [state.urgency for state in demo.channels] == sorted(state.urgency for state in demo.channels)


def test_folder_and_register_give_one_answer(demo, tmp_path):
    """The register of all results of the demo site against its readings: channel by channel, action by action."""
    rows = []
    for visit in load_visits(find_visits(DEMO)):
        for name in (name for name in ANALYSES if name != "drift"):
            analysis = analysis_named(name)
            for channel, condition in analysis.cases(visit):
                entry = result_entry(analysis.perform(visit, channel=channel, condition=condition))
                place = f"{visit.asset.tag}/{visit.path.name}/{channel}/{name}.{condition}.ipynb"
                rows.append(make_row(entry, asset="", visit="", record=place, seal="0" * 64, seal_kind="file"))
    append_rows(register_path(tmp_path), rows)
    kept = overview_of(read_site(tmp_path), on=ON, interval_months=13.0)
    assert site_sentence(kept) == site_sentence(demo)
    assert list(site_rows(kept)) == list(site_rows(demo))
    assert actions_table(kept) == actions_table(demo)
    unlinked = re.sub(r"</?a\b[^>]*>", "", matrix_html(kept, kept.channels))
    assert unlinked == matrix_html(demo, demo.channels)


def test_the_csv_says_what_was_read_as_left_and_what_does_not_act(tmp_path):
    levels = np.array([2.0, 5.0, 9.0, 14.0, 18.0, 20.0])
    rows = [f"STG-1-V11,linearity,as-found,50,{x},mm/s pk,{min(4.0 * x, 60.0):.3f},mV pk,,,," for x in levels]
    build_site(tmp_path, rows)
    overview = overview_of(read_site(tmp_path), on=ON, interval_months=13.0)
    (cells,) = site_rows(overview)
    said = dict(zip(HEADINGS, cells, strict=True))
    assert (said["linearity as found"], said["linearity as left"]) == ("fail", None)
    assert said["set_points_that_do_not_act"] == "trip 18 mm/s pk at 50 Hz"
    assert said["set_points_not_reached"] == ""
    assert said["verdict"] == "fail"


def test_equipment_used_when_overdue_is_named(demo):
    late = [text for state in demo.instruments for text in state.used_overdue]
    assert late == ["FDF-3, visit 2025-06-17 (REF-25)", "FDF-3, visit 2025-06-17 (DVM-25)"]
    assert not [state for state in demo.instruments if state.overdue_days > 0]
    later = overview_of(read_site(DEMO), on=date(2026, 7, 1), interval_months=13.0)
    assert [state.overdue_days for state in later.instruments] == [
        1,
        1,
        -75,
        -194,
    ]  # and the micrometer, and the charge that was injected by
    assert "REF-26, due 2026-06-30" in actions_table(later).to_text()


def test_overdue_channels_are_found_by_the_day():
    overview = overview_of(read_site(DEMO), on=date(2027, 9, 1), interval_months=13.0)
    assert all(state.overdue_days > 0 for state in overview.channels)
    assert "overdue for a visit: 20 channels and 1 group that votes" in site_sentence(overview)


@pytest.fixture
def site(tmp_path):
    append_rows(register_path(tmp_path), register_rows(40))
    return tmp_path


def test_a_reference_that_is_off_is_named_before_any_channel(tmp_path):
    append_rows(register_path(tmp_path), register_rows(40, shifts={2024: 2.5}))
    overview = overview_of(read_site(tmp_path), on=ON, interval_months=13.0)
    assert {shift.occasion for shift in overview.shifts} == {
        "all readings with REF-2024",
        "A-0000, visit 2024-05-19",
        "A-0001, visit 2024-05-19",
    }
    assert "check the reference" in overview.actions[0].what
    assert overview.shifts[0].channels == 40
    assert not any(state.drift for state in overview.channels)  # the last change is from the visit in doubt
    quiet = overview_of(read_site(DEMO), on=ON, interval_months=13.0)
    assert quiet.shifts == ()


def test_a_shift_downwards_is_written_with_a_true_minus(tmp_path):
    append_rows(register_path(tmp_path), register_rows(40, shifts={2024: -2.5}))
    overview = overview_of(read_site(tmp_path), on=ON, interval_months=13.0)
    cells = shifts_table(overview).rows[0].cells
    assert overview.shifts[0].E_n < 0.0
    assert cells[1].startswith("−2.") and cells[3] == f"−{abs(overview.shifts[0].E_n):.2f}"


def test_channels_are_sorted_and_filtered(site):
    overview = overview_of(read_site(site), on=ON, interval_months=13.0)
    assert (len(overview.channels), overview.results) == (40, 360)
    by_margin = select_channels(overview, sort="margin")
    assert [s.margin_pct for s in by_margin] == sorted(s.margin_pct for s in by_margin)
    assert {s.asset for s in select_channels(overview, asset="A-0001")} == {"A-0001"}
    assert [s.channel for s in select_channels(overview, text="a-0001-v07")] == ["A-0001-V07"]
    assert all(s.urgency == 8 for s in select_channels(overview, urgency=8))


def test_the_static_form_holds_every_channel_the_less_urgent_folded(site):
    overview = overview_of(read_site(site), on=ON, interval_months=13.0)
    html = matrix_html(overview, overview.channels, shown=10)
    assert html.count("<details>") == 2
    assert all(f">{state.channel}<" in html for state in overview.channels)
    assert html.index(overview.channels[0].channel) < html.index("<details>")
    assert {state.channel for state in overview.channels} <= set(words_in(margins_picture(overview).svg))


def test_the_panel_follows_its_controls(site):
    overview = overview_of(read_site(site), on=ON, interval_months=13.0)
    panel, controls = build_site_panel(overview)
    controls["asset"].value = "A-0001"
    assert panel.children[1].value.startswith("20 channels, page 1 of 1")
    controls["text"].value = "V03"
    assert panel.children[1].value.startswith("1 channel,")
    assert "A-0001-V03" in panel.children[2].value
    assert "A-0000-V03" not in panel.children[2].value
    assert controls["urgency"].label == "all"
    controls["urgency"].label = "now: left failing, or not acting"
    controls["urgency"].label = "all"
    assert controls["urgency"].label == "all"  # one whose value is None would be shown as no choice
    assert panel.children[1].value.startswith("1 channel,")


HOSTILE = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1", "%0A=1", "|calc"]


@pytest.mark.parametrize("text", HOSTILE)
def test_what_looks_like_a_formula_is_made_a_text(text):
    assert inert(text) == f"'{text}"


@pytest.mark.parametrize("text", ["STG-1-V11", "", "Front bearing", "a=b", "–"])
def test_other_texts_stay_as_they_are(text):
    assert inert(text) == text


def test_exported_tables_are_inert_and_complete(demo, tmp_path):
    bad = replace(demo.channels[0], location='=HYPERLINK("http://x","y")', channel="+V\x00\x1b1")
    overview = replace(demo, channels=(bad, *demo.channels[1:]))
    write_csv(overview, tmp_path / "o.csv")
    write_xlsx(overview, tmp_path / "o.xlsx")
    with (tmp_path / "o.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    assert tuple(rows[0]) == HEADINGS
    assert len(rows) == 22  # headings, twenty channels, a group that votes
    assert (rows[1][2][:2], rows[1][3][:2]) == ("'+", "'=")
    numbers = re.compile(r"-?\d+(\.\d+)?")
    assert all(not cell.startswith(("=", "+", "-", "@")) or numbers.fullmatch(cell) for row in rows for cell in row)
    sheet = openpyxl.load_workbook(tmp_path / "o.xlsx")["channels"]
    assert sheet.max_row == 22
    assert not [c for row in sheet.iter_rows() for c in row if c.data_type == "f"]
    cells = {h: c.value for h, c in zip(HEADINGS, sheet[3], strict=True)}
    expected = dict(zip(HEADINGS, list(site_rows(overview))[1], strict=True))
    assert cells["channel"] == expected["channel"]
    assert cells["margin_pct"] == expected["margin_pct"]
    assert cells["last_visit"].date() == expected["last_visit"]


def test_parameters_are_checked():
    good = {"site_folder": str(DEMO), "on": "2026-06-15", "interval_months": 13.0}
    for wrong, said in (
        ({"site": "x"}, "no parameter 'site'"),
        ({"site_folder": "nowhere"}, "give a records folder or a site folder"),
        ({"on": "yesterday"}, "is not a date"),
        ({"interval_months": 0}, "give a number above 0"),
    ):
        with pytest.raises(ParameterError, match=said):
            open_site({**good, **wrong})


def test_the_command(site):
    done = call("overview", site, "--on", "2026-06-15", "--csv", site / "o.csv", "--xlsx", site / "o.xlsx", cwd=site)
    assert done.stderr == ""
    assert done.returncode in (0, 1)
    assert "40 channels of 2 assets from 360 results" in done.stdout
    page = (site / "site_overview.html").read_text(encoding="utf-8")
    assert "A-0001-V07" in page
    assert "<script" not in page
    notebook = json.loads((site / "site_overview.ipynb").read_text(encoding="utf-8"))
    assert check_seal((site / "site_overview.ipynb").read_bytes()).intact
    run = notebook["metadata"]["papermill"]  # where folders lie on this machine is nobody else's business
    assert (run["input_path"], run["output_path"].count("/")) == ("site_overview.ipynb", 0)
    assert [path.name for path in site.glob(".*")] == []
    assert (site / "o.csv").is_file()
    assert (site / "o.xlsx").is_file()
    assert call("overview", site, "--on", "soon", cwd=site).returncode == 2
    assert "no such folder" in call("overview", site / "no", cwd=site).stderr


def test_the_command_names_a_row_that_was_altered(site):
    tamper(register_path(site), ("UPDATE results SET verdict = 'pass' , statement = 'x' WHERE sequence = 17",))
    done = call("overview", site, "--on", "2026-06-15", cwd=site)
    assert done.returncode == 3
    assert "Row 17 (A-0000 2023-05-19, A-0000-V05 band-response as-found) is not what was written" in done.stderr


def test_an_empty_folder_is_refused_in_a_sentence(tmp_path):
    done = call("overview", tmp_path, cwd=tmp_path)
    assert done.returncode == 2
    assert "there are no records here; make them with the command run" in done.stderr
    assert list(tmp_path.iterdir()) == []
