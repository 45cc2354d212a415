"""The witness: a hash chain in a file of text; whatever is done to it shows, but for an end that was cut off.

That last is told by the register, or by whoever wrote down how far the chain had come. The hash of an entry is worked
out here from its line alone, by the form that the module states.
"""

from __future__ import annotations

import hashlib
import json
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vibcal_nb.records.witness.chain import FIRST, Witnessed, WitnessUnusable, append, read_chain

AT = "2026-05-20T08:00:00+00:00"


def items(*names):
    return [Witnessed(kind="record", place=f"A/2026-05-19/{name}", sum=name * 8) for name in names]


@pytest.fixture
def path(tmp_path):
    place = tmp_path / "witness.jsonl"
    append(place, items("a", "b", "c"), at=AT)
    append(place, items("c", "d", "e"), at=AT)
    return place


def problems(path):
    return read_chain(path).problems


def lines_of(path):
    return path.read_bytes().splitlines(keepends=True)


def test_each_is_entered_once_and_follows_on_the_one_before(path):
    chain = read_chain(path)
    assert [entry.witnessed.sum[0] for entry in chain.entries] == list("abcde")
    assert chain.problems == ()
    assert [entry.previous for entry in chain.entries] == [FIRST, *(entry.hash for entry in chain.entries[:-1])]
    assert append(path, items("a", "e"), at=AT)[1] == 0


def test_the_hash_is_of_the_line_without_it(path):
    for line in lines_of(path):
        said = json.loads(line)
        own = said.pop("hash")
        form = json.dumps(said, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        assert hashlib.sha256(form.encode()).hexdigest() == own


@pytest.mark.parametrize("number", range(4))
def test_an_entry_taken_out_is_told(path, number):
    lines = lines_of(path)
    path.write_bytes(b"".join(lines[:number] + lines[number + 1 :]))
    assert any("what stood between was taken out" in said for said in problems(path))


def test_entries_in_another_order_are_told(path):
    lines = lines_of(path)
    path.write_bytes(b"".join([lines[0], lines[2], lines[1], *lines[3:]]))
    assert any("in another order" in said for said in problems(path))


def test_an_entry_slipped_in_is_told(path):
    """With numbers and its own hash in order."""
    lines = lines_of(path)
    said = json.loads(lines[2]) | {"sum": "f" * 8}
    said.pop("hash")
    form = json.dumps(said, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    said["hash"] = hashlib.sha256(form.encode()).hexdigest()
    lines[2] = json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    path.write_bytes(b"".join(lines))
    assert any("does not follow on the one before" in said for said in problems(path))


def test_500_single_bytes_changed_at_random_are_all_told(path):
    """Of all entries but the last: a last line that reads as none could be one that was begun and not finished."""
    data = path.read_bytes()
    end = data[:-1].rindex(b"\n")
    chance = random.Random(17027)
    for _ in range(500):
        place = chance.randrange(end)
        value = chance.choice([v for v in range(256) if v != data[place]])
        path.write_bytes(data[:place] + bytes([value]) + data[place + 1 :])
        assert problems(path), place


@settings(deadline=None)
@given(cut=st.integers(1, 100))
def test_a_line_that_was_begun_and_not_finished_is_no_forgery_and_the_next_begins_on_its_own(tmp_path_factory, cut):
    path = tmp_path_factory.mktemp("witness") / "witness.jsonl"
    append(path, items("a", "b"), at=AT)
    path.write_bytes(path.read_bytes()[:-cut])
    assert problems(path) == ()
    chain, new = append(path, items("a", "b", "c"), at=AT)
    assert [entry.witnessed.sum[0] for entry in chain.entries] == list("abc")
    assert new == (1 if cut == 1 else 2)  # without its line end alone an entry is whole
    assert read_chain(path).problems == ()
    assert read_chain(path).torn == (0 if cut == 1 else 1)


def test_nothing_is_put_behind_a_forged_entry(path):
    path.write_bytes(path.read_bytes().replace(b"aaaa", b"afaa", 1))
    before = path.read_bytes()
    with pytest.raises(WitnessUnusable, match=r"line 1: entry 1 \(A/2026-05-19/a\) was altered"):
        append(path, items("z"), at=AT)
    assert path.read_bytes() == before


@pytest.mark.parametrize("line", [b"x\n", b"[]\n", b"5\n", b"\xff\n", b'"a"\n'])
def test_a_line_that_is_none_is_told(path, line):
    path.write_bytes(path.read_bytes() + line)
    assert problems(path) == ("line 6 is no entry",)


def test_a_folder_in_its_place_is_told(tmp_path):
    with pytest.raises(WitnessUnusable, match="The witness cannot be read"):
        read_chain(tmp_path)
