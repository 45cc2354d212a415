"""The sums of the package's own notebooks: what was ever one stays known as one."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.store_outputs import all_sums
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.running.fleet.own_notebooks import EARLIER_NOTEBOOKS, own_sum, was_own
from vibcal_nb.running.fleet.stamp import notebook_stamp, package_version
from vibcal_nb.running.fleet.standard_notebooks import find_notebooks

CHANGES = st.lists(st.tuples(st.sampled_from("12"), st.sampled_from("xyz"), st.sampled_from("xyz")), max_size=6)


def test_the_notebooks_of_this_version_are_its_own():
    for name in ANALYSES:
        template = find_notebooks() / analysis_named(name).notebook
        assert notebook_stamp(template)["own"], f"{template.name}: python -m tests.store_outputs {template.stem}"


def test_an_earlier_one_was_its_own_and_any_other_never():
    for file, sums in EARLIER_NOTEBOOKS[package_version()].items():
        assert len(set(sums)) == len(sums)
        for digest in sums:
            assert was_own(package_version(), file, digest)
            assert not was_own("0.0.1", file, digest)
            assert not was_own(package_version(), f"other_{file}", digest)
        assert not was_own(package_version(), file, "0" * 64)
        assert not was_own(package_version(), file, None)
    assert own_sum("0.0.1", "linearity.ipynb") is None


@settings(deadline=None)
@given(changes=CHANGES)
def test_no_sum_is_lost_by_a_change(changes):
    present, earlier, seen = {}, {}, set()
    for version, first, second in changes:
        sums = {"a.ipynb": first, "b.ipynb": second}
        present, earlier = all_sums(present, earlier, version=version, sums=sums)
        seen |= {(version, file, digest) for file, digest in sums.items()}
        assert present[version] == sums
        known = {(v, f, d) for v, own in present.items() for f, d in own.items()}
        known |= {(v, f, d) for v, own in earlier.items() for f, each in own.items() for d in each}
        assert known == seen
