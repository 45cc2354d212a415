"""A further analysis is added in the places that the contributor's guide names, and in no others.

The package is copied, the places are filled, and the copy is run as a person would: a record with its page, a table,
a figure and an entry of the results come of it, and the record is performed again.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from tests.support.places import DEMO, ROOT
from vibcal_nb.records.seal.sources import sum_of_sources

NAME = "level-spread"
METADATA = {
    "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"},
    "language_info": {"name": "python"},
}

FILES = {
    "vibcal_nb/analysis/level_spread/__init__.py": '"""How far the levels of a channel lie apart."""\n',
    "vibcal_nb/analysis/level_spread/level_spread.py": '''"""Ratio of the highest level to the lowest."""

from dataclasses import dataclass, replace

from vibcal_nb.analysis.refusal import refusing
from vibcal_nb.analysis.result import Result
from vibcal_nb.metrology.conformity.decision import FAIL, PASS, DecisionRule, Verdict
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import LEVEL_SPREAD


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LevelSpread(Result):
    """The ratio; it passes from 3 on."""

    case: Case
    rule: DecisionRule
    ratio: float
    verdict: Verdict


@refusing
def analyse_level_spread(case: Case) -> LevelSpread:
    """Divide the highest level by the lowest."""
    levels = [reading.applied for reading in case.readings]
    ratio = max(levels) / min(levels)
    named = replace(case, test=LEVEL_SPREAD)
    return LevelSpread(case=named, rule=DecisionRule(), ratio=ratio, verdict=PASS if ratio >= 3.0 else FAIL)
''',
    "vibcal_nb/display/level_spread/__init__.py": '"""A spread of levels, shown."""\n',
    "vibcal_nb/display/level_spread/level_spread_view.py": '''"""How a spread of levels is shown."""

from vibcal_nb.display.results.view import Drawing, View
from vibcal_nb.display.writing.findings import Wording
from vibcal_nb.display.writing.table import Row, Table


def _words(result):
    return Wording(findings=(f"The highest level is {result.ratio:.3g} times the lowest",), gaps=(), remarks=())


def _summary(result):
    return Table(caption="Spread", headings=("", "ratio"), rows=(Row(cells=("levels", f"{result.ratio:.3g}")),))


def _draw(result, axes, **_):
    axes[0].plot([reading.applied for reading in result.case.readings])


VIEW = View(
    words=_words,
    sentence=lambda result: f"the levels span a factor of {result.ratio:.3g}",
    quantities=lambda result: (),
    summary=_summary,
    columns=lambda result: {"level": [reading.applied for reading in result.case.readings]},
    drawing=Drawing(
        axes=lambda _, figure: (figure.subplots(),),
        draw=_draw,
        shows="Levels in the order of the table.",
        height=lambda _: 3.0,
    ),
)
''',
    "vibcal_nb/records/quantities/level_spread_quantities.py": '''"""A spread of levels as records know it."""

from vibcal_nb.analysis.level_spread.level_spread import analyse_level_spread
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.model.names import LEVEL_SPREAD, LINEARITY
from vibcal_nb.records.quantities.analysis import Analysis


def _cases(visit):
    return [(channel, condition) for channel, test, condition in list_cases(visit) if test == LINEARITY]


def _perform(folder, *, channel, condition):
    return analyse_level_spread(select_case(folder, channel=channel, test=LINEARITY, condition=condition))


ANALYSIS = Analysis(
    name=LEVEL_SPREAD,
    notebook="level_spread.ipynb",
    method="highest level over lowest",
    test=LINEARITY,
    cases=_cases,
    perform=_perform,
    quantities=lambda result: {"ratio": result.ratio, "verdict": result.verdict},
    undetermined=lambda result, found: {},
)
''',
}

CELLS = (
    (
        "from vibcal_nb.analysis.level_spread.level_spread import analyse_level_spread\n"
        "from vibcal_nb.notebook.record import keep_result, open_case\n"
        "from vibcal_nb.notebook.show import show",
        [],
    ),
    (
        'visit_folder: str = "x"  # folder of the visit\nchannel: str = "x"  # tag\n'
        'condition: str = "as-found"  # or as-left',
        ["parameters"],
    ),
    (
        'case = open_case(globals(), test="linearity", visit_folder=visit_folder, channel=channel, '
        "condition=condition)\n"
        "result = analyse_level_spread(case)\nshow.answer(result)\nkeep_result(result)",
        [],
    ),
    ("show.summary(result)\nshow.figure(result)", []),
)


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    place = tmp_path_factory.mktemp("copy")
    shutil.copytree(ROOT / "vibcal_nb", place / "vibcal_nb", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "notebooks", place / "notebooks")
    for name, text in FILES.items():
        (place / name).parent.mkdir(exist_ok=True)
        (place / name).write_text(text, encoding="utf-8")
    _add_line(place / "vibcal_nb/model/names.py", "DRIFT: Final", f'LEVEL_SPREAD: Final = "{NAME}"')
    for module, group in (
        ("display/views.py", "display.level_spread.level_spread_view"),
        ("records/analyses.py", "records.quantities.level_spread_quantities"),
    ):
        _add_line(place / "vibcal_nb" / module, "    DRIFT:", f'    LEVEL_SPREAD: "vibcal_nb.{group}",')
        path = place / "vibcal_nb" / module
        text = path.read_text(encoding="utf-8")
        path.write_text(
            re.sub(r"(from vibcal_nb\.model\.names import \(?)", r"\1LEVEL_SPREAD, ", text), encoding="utf-8"
        )
    notebook = nbformat.v4.new_notebook(metadata=METADATA)
    for number, (source, tags) in enumerate(CELLS):
        cell = nbformat.v4.new_code_cell(source, metadata={"tags": tags} if tags else {})
        cell["id"] = f"cell-{number}"
        notebook.cells.append(cell)
    nbformat.write(notebook, place / "notebooks" / "level_spread.ipynb")
    own = place / "vibcal_nb/running/fleet/own_notebooks.py"
    _add_line(own, '        "linearity.ipynb"', f'        "level_spread.ipynb": "{sum_of_sources(notebook)}",')
    return place


def _add_line(path: Path, before: str, line: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, f"{line}\n{before}", 1), encoding="utf-8")


def command(place: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(place)}
    words = [sys.executable, "-m", "vibcal_nb", *arguments]
    return subprocess.run(words, cwd=place, env=environment, capture_output=True, text=True)


def test_it_is_run_kept_shown_and_performed_again(copy):
    visit = DEMO / "STG-1" / "2026-05-19"
    done = command(copy, "run", str(visit), "--channel", "STG-1-V11", "--analysis", NAME, "--out", "records")
    assert done.returncode == 0, done.stdout + done.stderr
    (results,) = (copy / "records").rglob("results.json")
    (entry,) = json.loads(results.read_text(encoding="utf-8"))["results"]
    assert (entry["analysis"], entry["verdict"]) == (NAME, "pass")
    assert entry["quantities"]["ratio"] > 3.0
    record = results.parent / entry["record"]
    outputs = record.read_text(encoding="utf-8")
    assert "times the lowest" in outputs and "<table>" in outputs
    assert "Levels in the order of the table." in outputs  # its figure's alternative text
    assert record.with_suffix(".html").is_file()
    checked = command(copy, "verify", "records")
    assert checked.returncode == 0, checked.stdout + checked.stderr
