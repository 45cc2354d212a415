"""Tolerances are read in every form that the trade writes, and refused in a sentence where they say too little."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import ASSET, build_site, linearity_rows
from vibcal_nb.display.writing.tolerances import tolerance_text
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.problems import InputRefused

SHORT = "tolerance_pct = 5.0\nnonlinearity_pct = 2.0"


def channel(tmp_path, stated, *, more=""):
    asset = ASSET.replace(SHORT, f"{stated}\nnonlinearity_pct = 2.0\n{more}", 1)
    assert asset != ASSET or stated in ASSET
    return load_visit(build_site(tmp_path, linearity_rows(), asset=asset)).asset.channels["STG-1-V11"]


def refusal(tmp_path, stated, *, more=""):
    with pytest.raises(InputRefused) as caught:
        channel(tmp_path, stated, more=more)
    return str(caught.value)


@pytest.mark.parametrize(
    ("stated", "tolerance", "words"),
    [
        ("tolerance_pct = 5.0", Tolerance(reading_pct=5.0), "± 5 %"),
        ("tolerance = { reading_pct = 5.0 }", Tolerance(reading_pct=5.0), "± 5 %"),
        ("tolerance = { span_pct = 1.0 }", Tolerance(span_pct=1.0), "± 1 % of span"),
        ("tolerance = { absolute = 0.2 }", Tolerance(absolute=0.2), "± 0.2 mm/s pk"),
        (
            'tolerance = { reading_pct = 2, span_pct = 0.5, rule = "sum" }',
            Tolerance(reading_pct=2.0, span_pct=0.5),
            "± (2 % of reading + 0.5 % of span)",
        ),
        (
            'tolerance = { reading_pct = 2, absolute = 0.2, rule = "larger" }',
            Tolerance(reading_pct=2.0, absolute=0.2, rule="larger"),
            "± the larger of 2 % of reading and 0.2 mm/s pk",
        ),
    ],
)
def test_every_form_is_read_and_written_in_words(tmp_path, stated, tolerance, words):
    found = channel(tmp_path, stated, more="full_scale = 25.0")
    assert found.tolerance == tolerance
    assert tolerance_text(found) == words


@pytest.mark.parametrize(
    ("stated", "more", "said"),
    [
        ("tolerance_pct = 5.0\ntolerance = { span_pct = 1.0 }", "full_scale = 25", "both tolerance_pct and tolerance"),
        ("", "", "give one of tolerance_pct and tolerance"),
        ("tolerance = {}", "full_scale = 25", "give reading_pct, span_pct or absolute"),
        ("tolerance = { reading_pct = 2, span_pct = 1 }", "full_scale = 25", 'give rule = "sum" or rule = "larger"'),
        ("tolerance = { span_pct = 1.0 }", "", "full_scale: found nothing, though the tolerance has span_pct"),
        ("tolerance = { span_pc = 1.0 }", "full_scale = 25", "did you mean 'span_pct'"),
        ("tolerance = 5.0", "", "give a table"),
        (SHORT.splitlines()[0], "full_scale = 25\nzero = { tolerance_span_pct = 0.5 }", "though the output is mV pk"),
        (SHORT.splitlines()[0], "zero = { tolerance_span_pct = 0.5 }", "though zero has a limit in % of span"),
    ],
)
def test_what_says_too_little_is_refused(tmp_path, stated, more, said):
    assert said in refusal(tmp_path, stated, more=more)
