"""A run stopped at an operation on the disk leaves what the next run mends; `bench_kill_points` stops at every one."""

from __future__ import annotations

import shutil
from collections import Counter

import pytest

from tests.support.kept.performed import remember_performances
from tests.support.running.interrupted_runs import Place, broken, lasting, prepare, run, stopped_run, without_kernels

STEP = 9
"""Every so many-th operation is stopped at, and the first of each kind."""


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    with without_kernels():
        yield
    end()


@pytest.mark.parametrize("revisions", [0, 1])
def test_nothing_is_lost_or_left_wherever_a_run_is_stopped(tmp_path, revisions):
    """A first record, and the revision of a signed one: page, report, results, register and witness with it."""
    place, base = Place(folder=tmp_path / "place"), tmp_path / "base"
    prepare(place, revisions=revisions, key=None)
    before = lasting(place) if revisions else Counter()
    shutil.copytree(place.folder, base)
    kinds = stopped_run(place, None).kinds
    assert len(kinds) > 30
    firsts = [kinds.index(kind) + 1 for kind in set(kinds)]
    for point in sorted({*firsts, *range(1 + revisions, len(kinds) + 1, STEP)}):
        shutil.rmtree(place.folder)
        shutil.copytree(base, place.folder)
        assert stopped_run(place, point).done == point
        assert run(place) == 0, point
        assert broken(place, before, revision=revisions + 1) == [], point


def test_the_look_finds_what_an_interruption_would_leave(tmp_path):
    """A record whose sign-off is lost, one with the old sign-off beside it, a page that is gone, a second copy."""
    place = Place(folder=tmp_path / "place")
    prepare(place, revisions=1, key=None)
    before = lasting(place)
    run(place)
    assert broken(place, before, revision=2) == []
    (signoff,) = place.channel.glob("superseded/*.signoff-1.json")
    beside = place.channel / signoff.name.replace(".rev1", "")
    shutil.copy(signoff, beside)
    assert any("of another seal" in said for said in broken(place, before, revision=2))
    beside.unlink()
    page = place.record.with_suffix(".html")
    shutil.move(page, tmp_path / page.name)
    assert any("its page (.html) is not there" in said for said in broken(place, before, revision=2))
    shutil.move(tmp_path / page.name, page)
    (old,) = place.channel.glob("superseded/*.ipynb")
    shutil.copy(old, old.with_name(old.name.replace(".rev1", ".rev1-2")))
    assert any("a second copy" in said for said in broken(place, before, revision=2))
    signoff.unlink()
    assert any("are there 0 times" in said for said in broken(place, before, revision=2))
