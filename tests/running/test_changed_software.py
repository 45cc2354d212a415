"""Software that is changed under a run or under verify: told as that, and never as a forgery."""

from __future__ import annotations

import pytest

from tests.support.kept.performed import remember_performances
from tests.support.running.interrupted_runs import Place, set_gain, without_kernels
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.fleet import stamp
from vibcal_nb.running.verify.again.made_again import _meaning_of_a_difference
from vibcal_nb.running.verify.states import State


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    with without_kernels():
        yield
    end()


def test_a_run_says_that_the_software_was_changed_meanwhile(tmp_path, capsys, monkeypatch):
    place = Place(folder=tmp_path)
    set_gain(place, 4.05)
    words = ["run", str(place.site), "--out", str(place.records), "--analysis", "linearity", "--workers", "1"]
    stamp.hash_package()
    with monkeypatch.context() as patched:
        patched.setattr(stamp, "sum_of_package", lambda: "other")
        assert main([*words, "--no-pdf"]) == 3
    said = "The software was changed while the run was under way: records may be of either; run --fresh."
    assert said in capsys.readouterr().err
    assert main([*words, "--no-pdf"]) == 0
    assert capsys.readouterr().err == ""


def test_a_difference_under_changing_software_is_no_forgery(monkeypatch):
    made_by = {stamp.PACKAGE: stamp.hash_package(), "version": stamp.package_version()}
    assert _meaning_of_a_difference({}, made_by)[0] is State.ALTERED
    monkeypatch.setattr(stamp, "sum_of_package", lambda: "other")
    state, by = _meaning_of_a_difference({}, made_by)
    assert state is State.NOT_PERFORMED
    assert by == " while the software was being changed (verify again)"
