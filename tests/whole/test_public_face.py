"""What a script of one's own imports: documented, complete, and the same as the notebooks do."""

from __future__ import annotations

import doctest
import json
import subprocess
import sys
import tomllib

import numpy as np
import pandas as pd
import pytest

import vibcal_nb as vn
from tests.support.places import DEMO, ROOT
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.records.quantities.result_entry import result_entry

VISIT = DEMO / "STG-1" / "2026-05-19"
CHANNEL = "STG-1-V12"
ANALYSES = {"linearity": vn.linearity, "band-response": vn.band_response, "sensor-alone": vn.sensor_alone}


def test_its_example_runs(monkeypatch):
    monkeypatch.chdir(ROOT)
    found = doctest.testmod(vn)
    assert found.attempted >= 8
    assert found.failed == 0


def test_help_and_dir_list_what_there_is():
    assert set(dir(vn)) == set(vn.__all__)
    assert all(getattr(vn, name) is not None for name in vn.__all__)
    text = subprocess.run([sys.executable, "-c", "import vibcal_nb; help(vibcal_nb)"], capture_output=True, text=True)
    assert ("read_visit" in text.stdout and "DataFrame" in text.stdout) or "frame" in text.stdout


def test_importing_it_loads_nothing_heavy():
    code = "import sys, vibcal_nb; print(sorted({'numpy', 'pandas', 'scipy', 'matplotlib'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def stated():
    """What the demo's files state of the channel, the equipment and the rule."""
    asset = tomllib.loads((VISIT.parent / "asset.toml").read_text(encoding="utf-8"))
    visit = tomllib.loads((VISIT / "visit.toml").read_text(encoding="utf-8"))
    channel = dict(asset["channels"][CHANNEL])
    channel["rotors"] = {name: asset["rotors"][name] for name in channel["rotors"]}
    return {
        "channel": channel,
        "equipment": DEMO / "equipment.toml",
        "kinds": DEMO / "kinds.toml",
        "used": visit["equipment"],
        "date": visit["date"],
        "decision": visit.get("decision"),
    }


@pytest.mark.parametrize("test", ANALYSES)
def test_readings_in_memory_give_the_folders_numbers(test):
    table = pd.read_csv(VISIT / "readings.csv", dtype=str, keep_default_na=False)
    frame = table[(table["channel"] == CHANNEL) & (table["test"] == test) & (table["condition"] == "as-found")]
    own = ANALYSES[test](frame.drop(columns=["channel", "test", "condition"]), **stated())
    theirs = vn.perform(vn.read_visit(VISIT), test, channel=CHANNEL)
    assert type(own) is type(theirs)
    assert own.verdict == theirs.verdict
    mine, kept = (json.dumps(_numbers(result)) for result in (own, theirs))
    assert mine == kept


def _numbers(result):
    """All quantities but for where the rows stood in their table."""
    quantities = analysis_named(result.case.test).quantities(result)
    return json.loads(json.dumps(quantities), object_hook=lambda item: {k: v for k, v in item.items() if k != "row"})


LIMITS = {"input_unit": "mm/s pk", "output_unit": "mV pk", "nominal_sensitivity": 4.0, "tolerance_pct": 5.0}
UNITS = {"applied_unit": "mm/s pk", "output_unit": "mV pk"}
FRAME = {"frequency_hz": 50.0, "applied": np.array([3.0, 8.0, 13.0, 18.0]), "output": [11.9, 31.8, 51.6, 71.5]}


def test_columns_may_be_arrays_lists_and_single_values():
    by_frame = vn.linearity(pd.DataFrame(FRAME), channel=LIMITS, **UNITS)
    by_mapping = vn.linearity(FRAME, channel=LIMITS, **UNITS)
    assert result_entry(by_frame)["quantities"] == result_entry(by_mapping)["quantities"]


def test_a_unit_that_nobody_gave_is_refused_and_not_guessed():
    with pytest.raises(vn.InputRefused, match="applied_unit"):
        vn.linearity(FRAME, channel=LIMITS, output_unit="mV pk")


def test_an_unknown_key_is_refused_as_the_file_would_be():
    with pytest.raises(vn.InputRefused, match=r"tolerance_pc'.*'tolerance_pct'"):
        vn.linearity(FRAME, channel={**LIMITS, "tolerance_pc": 4.0}, **UNITS)


def test_an_unknown_analysis_is_refused_with_the_nearest():
    with pytest.raises(vn.Refused, match="did you mean 'linearity'"):
        vn.perform(vn.read_visit(VISIT), "linearty", channel=CHANNEL)
