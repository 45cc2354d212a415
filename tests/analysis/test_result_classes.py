"""Results of analyses cannot be changed, and cannot be made by position: a record shows what was calculated."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re

import numpy as np
import pytest

import vibcal_nb.analysis
import vibcal_nb.metrology
from vibcal_nb.arrays import frozen

MODULES = [
    importlib.import_module(module.name)
    for room in (vibcal_nb.metrology, vibcal_nb.analysis)
    for module in pkgutil.walk_packages(room.__path__, f"{room.__name__}.")
]
CLASSES = [
    class_
    for module in MODULES
    for class_ in vars(module).values()
    if inspect.isclass(class_) and class_.__module__ == module.__name__ and dataclasses.is_dataclass(class_)
]


@pytest.mark.parametrize("class_", CLASSES, ids=lambda class_: class_.__name__)
def test_a_result_is_frozen_and_made_by_names(class_):
    assert class_.__dataclass_params__.frozen
    assert all(field.kw_only for field in dataclasses.fields(class_))


def test_what_holds_arrays_is_equal_to_itself_alone():
    """Two arrays are neither equal nor unequal as a whole, so that nothing that holds one is compared by its parts."""
    holding, found = set(), {"FloatArray", "NDArray"}
    while found:
        holding |= found
        found = {
            class_.__name__
            for class_ in CLASSES
            for field in dataclasses.fields(class_)
            if holding & set(re.findall(r"\w+", str(field.type)))
        } - holding
    assert {class_.__name__ for class_ in CLASSES if class_.__dataclass_params__.eq} & holding == set()


def test_there_are_results():
    assert len(CLASSES) > 50


def test_an_array_of_a_result_is_a_copy_that_refuses_to_be_written():
    values = np.array([1.0, 2.0])
    kept = frozen(values)
    values[0] = 7.0
    np.testing.assert_array_equal(kept, [1.0, 2.0])
    with pytest.raises(ValueError, match="read-only"):
        kept[0] = 7.0
