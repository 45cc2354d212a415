"""A readout's certificate in parts of the reading and of span is read whole or refused in a sentence."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import EQUIPMENT, build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused

WHOLE = 'expanded_span_pct = 0.02\nspan = 20\nspan_unit = "mA dc"\n'


def test_a_part_of_span_is_read_as_an_amount(tmp_path):
    (readout,) = load_visit(build_site(tmp_path, linearity_rows(), equipment=EQUIPMENT + WHOLE)).readouts
    assert readout.offset.expanded == pytest.approx(0.004)
    assert readout.offset.unit.text == "mA dc"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("expanded_span_pct = 0.02\n", "span: found nothing; give a number above 0 beside expanded_span_pct"),
        ('span = 20\nspan_unit = "mA dc"\n', "expanded_span_pct: found nothing"),
        (WHOLE.replace("mA dc", "mm/s pk"), "give an electrical unit"),
        (WHOLE.replace("0.02", "-1"), "above 0 and up to 100"),
    ],
)
def test_a_part_of_span_that_is_not_all_stated_is_refused(tmp_path, more, said):
    with pytest.raises(InputRefused) as caught:
        load_visit(build_site(tmp_path, linearity_rows(), equipment=EQUIPMENT + more))
    assert said in str(caught.value)
