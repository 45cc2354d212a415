"""Very many readings: what is left out of a table and a figure is never the worst, and few are not thinned at all."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from vibcal_nb.display.drawing.marks import MOST_MARKS, thinned
from vibcal_nb.display.writing.table import Row, Table


@settings(deadline=None)
@given(count=st.integers(0, 2000), most=st.integers(2, 500))
def test_a_table_keeps_its_worst_half_and_no_more_than_asked(count, most):
    rows = tuple(Row(cells=(str(number),)) for number in range(count))
    kept = Table(caption="", headings=("row",), rows=rows).thinned(most).rows
    assert len(kept) <= max(most, 0) and (kept == rows) is (count <= most)
    assert kept[: most // 2] == rows[: most // 2]
    places = [int(row.cells[0]) for row in kept]
    assert places == sorted(set(places))


@settings(deadline=None)
@given(seed=st.integers(0, 2**32 - 1), count=st.sampled_from([10, MOST_MARKS, MOST_MARKS + 1, 3 * MOST_MARKS]))
def test_a_figure_keeps_its_highest_and_lowest_marks(seed, count):
    places = [(float(number), float((number * 7919 + seed) % 10007), 0.0) for number in range(count)]
    kept = thinned(places)
    assert len(kept) <= MOST_MARKS + 1
    assert (list(kept) == places) is (count <= MOST_MARKS)
    heights, all_heights = sorted(place[1] for place in kept), sorted(place[1] for place in places)
    assert heights[:200] == all_heights[:200] and heights[-200:] == all_heights[-200:]
    assert list(kept) == sorted(kept)
