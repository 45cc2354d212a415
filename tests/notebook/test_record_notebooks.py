"""The standard notebooks under plain papermill: the same record as `run` makes, and no silent defaults."""

from __future__ import annotations

import warnings

import papermill
import pytest

from tests.support.places import ROOT
from vibcal_nb.records.seal.record_content import MIME_TYPE

VISIT = str(ROOT / "data_demo" / "STG-1" / "2026-05-19")


def execute(name, out, **parameters):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of papermill and the kernel's client, about themselves
        return papermill.execute_notebook(
            ROOT / "notebooks" / f"{name}.ipynb",
            out / f"{name}.ipynb",
            parameters=parameters,
            progress_bar=False,
            extra_arguments=["--IPKernelApp.log_level=50"],
        )


@pytest.mark.parametrize(
    ("name", "channel", "verdict"),
    [
        ("linearity", "STG-1-V12", "fail"),
        ("band_response", "STG-1-V21", "fail"),
        ("sensor_alone", "STG-1-V12", "pass"),
    ],
)
def test_plain_papermill_gives_the_record(tmp_path, name, channel, verdict):
    notebook = execute(name, tmp_path, visit_folder=VISIT, channel=channel, condition="as-found")
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    (result,) = [o.data[MIME_TYPE] for o in outputs if MIME_TYPE in o.get("data", {})]
    assert (result["channel"], result["verdict"]) == (channel, verdict)
    assert not notebook.metadata.get("widgets")
    assert any("Limits applied" in str(o.get("data", {}).get("text/plain")) for o in outputs)


@pytest.mark.parametrize(
    ("parameters", "said"),
    [
        ({"chanel": "STG-1-V12"}, "no parameter 'chanel'; its parameters are visit_folder, channel, condition"),
        ({"channel": "STG-1-V99"}, "has no channel 'STG-1-V99'"),
        ({"channel": 3}, "The parameter channel is 3; give a text in quotes"),
        ({"condition": "as-left"}, "holds no linearity readings of STG-1-V11 as-left"),
        ({"visit_folder": "nowhere"}, "give the folder of a visit"),
    ],
)
def test_a_wrong_parameter_is_an_error(tmp_path, parameters, said):
    with pytest.raises(papermill.PapermillExecutionError) as caught:
        execute("linearity", tmp_path, **({"visit_folder": VISIT} | parameters))
    assert said in str(caught.value.evalue)
