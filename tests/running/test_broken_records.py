"""A record that a disk or a person broke: the next run makes it anew, enters that, keeps what was there and says so."""

from __future__ import annotations

import pytest

from tests.support.kept.performed import remember_performances
from tests.support.running.interrupted_runs import Place, prepare, run, set_gain, without_kernels
from vibcal_nb.running.commands.cli import main

BROKEN = {
    "cut off": lambda data: data[: len(data) // 3],
    "empty": lambda data: b"",
    "no text": lambda data: b"\xff\xfe" + data,
    "another file": lambda data: b'{"cells": []}',
}


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    with without_kernels():
        yield
    end()


@pytest.mark.parametrize(("how", "is_signed"), [*((how, False) for how in BROKEN), ("cut off", True)])
def test_a_broken_record_is_made_anew_and_registered(tmp_path, capsys, how, is_signed):
    place = Place(folder=tmp_path)
    prepare(place, revisions=1, key=None) if is_signed else set_gain(place, 4.05)
    if not is_signed:
        assert run(place) == 0
    else:
        set_gain(place, 4.05)
    rest = BROKEN[how](place.record.read_bytes())
    place.record.write_bytes(rest)
    words = ["run", str(place.site), "--out", str(place.records), "--analysis", "linearity", "--workers", "1"]
    assert main([*words, "--supersede-signed"]) == 3
    said = capsys.readouterr().err
    assert "it is kept as STG-1/2026-05-19/STG-1-V11/superseded/linearity.as-found.rev" in said
    assert "Expecting" not in said and "codec" not in said
    kept = list(place.channel.glob("superseded/linearity.as-found.*.ipynb"))
    assert rest in [path.read_bytes() for path in kept]
    assert main(words) == 0
    capsys.readouterr()
    main(["verify", str(place.record)])
    assert "1 in order" in capsys.readouterr().out
