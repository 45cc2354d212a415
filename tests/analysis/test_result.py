"""Every result answers what is asked of results, and shows itself."""

from __future__ import annotations

import subprocess
import sys

import pandas as pd
import pytest
from matplotlib.figure import Figure

from tests.support.sites.examples import example_of
from vibcal_nb.model.names import VOTING
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.analyses import ANALYSES, analysis_named


@pytest.fixture(params=ANALYSES, scope="module")
def result(request):
    visit, channel = example_of(request.param)
    return analysis_named(request.param).perform(visit, channel=channel, condition="as-found")


def test_it_names_itself_in_a_line(result):
    assert len(repr(result)) < 200
    assert result.case.channel.tag in repr(result) and result.verdict in repr(result)


def test_it_shows_verdict_and_figure_in_a_cell(result):
    html = result._repr_html_()
    assert result.verdict in html and "<img alt=" in html


def test_its_table_is_a_frame_with_units_in_the_headings(result):
    frame = result.table()
    assert isinstance(frame, pd.DataFrame) and len(frame)
    numbers = frame.select_dtypes("number").columns.difference(["row"])
    assert len(numbers) or result.case.test == VOTING  # votes are words
    assert "unit" in frame.columns or all(", " in name for name in numbers)


def test_it_is_drawn_whole_or_into_axes_of_ones_own(result):
    whole = result.plot()
    assert isinstance(whole, Figure)
    axes = list(Figure().subplots(len(whole.axes), 1, squeeze=False).flat)
    assert result.plot(axes) is axes
    assert any(ax.lines or ax.collections or ax.patches for ax in axes)
    with pytest.raises(ParameterError, match=f"has {len(axes)} axes"):
        result.plot([*axes, axes[0]])


@pytest.mark.parametrize("analysis", ANALYSES)
def test_an_entry_can_be_made_in_a_fresh_process(analysis):
    visit, channel = example_of(analysis)
    code = (
        "from pathlib import Path; from vibcal_nb.inputs.load_visits import load_visit;"
        "from vibcal_nb.records.perform.perform import perform;"
        "from vibcal_nb.records.quantities.result_entry import result_entry;"
        f"folder = load_visit(Path({str(visit.path)!r}));"
        f"result = perform(folder, channel={channel!r}, analysis={analysis!r}, condition='as-found');"
        "print(result_entry(result)['verdict'])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() in ("pass", "fail", "not verified")
