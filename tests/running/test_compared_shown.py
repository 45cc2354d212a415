"""What two versions of libraries show, held against each other by what it says: texts, tables, figures, bars."""

from __future__ import annotations

import base64

import pytest

from vibcal_nb.running.verify.again.compare_figures import svg_in
from vibcal_nb.running.verify.again.compare_shown import same_shown, same_text

SVG = '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 1L{} 3"/><text x="4">pass</text></svg>'


def as_page(svg, *, packed):
    if packed:
        return f'<img src="data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}">'
    return f'<img src="data:image/svg+xml,{svg.replace("<", "%3C").replace(">", "%3E").replace(chr(34), "%22")}">'


@pytest.mark.parametrize("packed", [True, False])
@pytest.mark.parametrize(("moved", "same"), [("10", True), ("10.4", True), ("12", False)])
def test_a_figure_is_compared_by_what_it_draws_however_it_is_packed(packed, moved, same):
    one, other = as_page(SVG.format("10"), packed=packed), as_page(SVG.format(moved), packed=packed)
    assert same_shown("text/html", one, other) is same
    failed = as_page(SVG.format("10").replace("pass", "fail"), packed=packed)
    assert not same_shown("text/html", one, failed)


@pytest.mark.parametrize("address", ["data:image/svg+xml;base64,?", "data:image/png,x", "data:image/svg+xml", ""])
def test_what_is_no_drawing_is_none(address):
    assert svg_in(address) is None


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("4.05 ± 0.08", "4.06 ± 0.08", True),
        ("4.05 ± 0.08", "4.07 ± 0.08", False),
        ("5 readings", "6 readings", False),
        ("1.2e-05", "1.3e-05", True),
        ("1.2e-05", "1.2e-06", False),
        ("−1.0", "1.0", False),
        ("pass", "fail", False),
    ],
)
def test_a_number_may_differ_by_a_unit_of_its_last_digit_and_nothing_else(one, other, same):
    assert same_text(one, other) is same
