"""What was changed while exploring: random walks against a model that shares nothing with it, and single rules."""

from __future__ import annotations

from copy import deepcopy
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vibcal_nb.notebook.touch.exploration import Exploration, Stand

FILED = {8: "shaker not settled", 9: "typing error"}
RECORD = Stand(values={"tolerance": 5.0, "rule": "simple", "corner": (-4.0, -2.0)}, left_out=FILED)
ROWS = range(2, 14)
ACTIONS = ("set", "leave out", "take back", "take back with a reason", "undo", "redo", "record")


class Model:
    """A walk told as two piles of plain dictionaries: what lies below, and what was undone."""

    def __init__(self) -> None:
        self.now = {"values": dict(RECORD.values), "out": dict(FILED), "back": {}}
        self.start = deepcopy(self.now)
        self.below: list[dict] = []
        self.undone: list[dict] = []

    def change(self, new: dict) -> None:
        if new != self.now:
            self.below.append(self.now)
            self.now, self.undone = new, []

    def act(self, kind: str, name: str, value: object, row: int, why: str) -> None:
        new = deepcopy(self.now)
        if kind == "undo":
            if self.below:
                self.undone.append(self.now)
                self.now = self.below.pop()
        elif kind == "redo":
            if self.undone:
                self.below.append(self.now)
                self.now = self.undone.pop()
        elif kind == "record":
            self.change(deepcopy(self.start))
        elif kind == "set":
            new["values"][name] = value
            self.change(new)
        elif kind == "leave out":
            new["out"][row] = FILED.get(row, why)
            new["back"].pop(row, None)
            self.change(new)
        elif row in new["out"] and (row not in FILED or kind == "take back with a reason"):
            del new["out"][row]
            if row in FILED:
                new["back"][row] = why
            self.change(new)


def step(exploration: Exploration, kind: str, name: str, value: object, row: int, why: str) -> Exploration:
    return {
        "set": lambda: exploration.set(name, value),
        "leave out": lambda: exploration.leave_out(row, why),
        "take back": lambda: exploration.take_back(row),
        "take back with a reason": lambda: exploration.take_back(row, why),
        "undo": exploration.undo,
        "redo": exploration.redo,
        "record": exploration.to_record,
    }[kind]()


def as_model(stand: Stand) -> dict:
    return {"values": dict(stand.values), "out": dict(stand.left_out), "back": dict(stand.taken_back)}


@pytest.mark.parametrize("seed", range(20))
def test_a_walk_of_200_actions_stands_where_the_model_stands(seed):
    random, model, exploration = Random(seed), Model(), Exploration.begun(RECORD)
    for _ in range(200):
        name, values = random.choice([("tolerance", [0.7, 2.0, 5.0]), ("rule", ["simple", "guarded"])])
        what = (random.choice(ACTIONS), name, random.choice(values), random.choice(ROWS), random.choice("ab"))
        exploration = step(exploration, *what)
        model.act(*what)
        assert as_model(exploration.stand) == model.now
        assert (exploration.can_undo, exploration.can_redo) == (bool(model.below), bool(model.undone))
        assert exploration.is_record == (model.now == model.start)
    while exploration.can_undo:
        exploration = exploration.undo()
    assert exploration.stand is RECORD


@given(st.lists(st.sampled_from(["leave out", "take back", "undo", "redo", "set", "record"]), max_size=30), st.data())
def test_no_action_without_a_reason_uses_a_reading_that_the_file_leaves_out(kinds, data):
    exploration = Exploration.begun(RECORD)
    for kind in kinds:
        exploration = step(exploration, kind, "tolerance", 1.0, data.draw(st.sampled_from(ROWS)), "x")
        assert FILED.items() <= dict(exploration.stand.left_out).items()


def test_a_reason_is_what_takes_such_a_reading_back_and_it_is_kept():
    begun = Exploration.begun(RECORD)
    assert begun.take_back(8, "  ") == begun
    back = begun.take_back(8, "the shaker had settled")
    assert 8 not in back.stand.left_out
    assert dict(back.stand.taken_back) == {8: "the shaker had settled"}
    again = back.leave_out(8, "another reason")
    assert dict(again.stand.left_out) == FILED
    assert not again.stand.taken_back


def test_a_drag_is_one_step():
    exploration = Exploration.begun(RECORD).set("tolerance", 4.0)
    for value in (3.9, 3.8, 3.7):
        exploration = exploration.set("tolerance", value, stroke="drag 1")
    assert exploration.stand.values["tolerance"] == 3.7
    exploration = exploration.set("tolerance", 2.0, stroke="drag 2").undo()
    assert exploration.stand.values["tolerance"] == 3.7
    assert exploration.undo().stand.values["tolerance"] == 4.0


def test_a_drag_that_ends_where_it_began_is_no_step():
    exploration = Exploration.begun(RECORD)
    for value in (4.0, 3.0, 5.0):
        exploration = exploration.set("tolerance", value, stroke="drag 1")
    assert exploration.is_record
    assert not exploration.can_undo


def test_a_control_that_there_is_not_is_refused():
    with pytest.raises(KeyError):
        Exploration.begun(RECORD).set("colour", "red")
