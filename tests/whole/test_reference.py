"""The reference of files, keys, columns, units and results says what the code knows, no less and nothing else."""

from __future__ import annotations

from importlib import import_module

import pytest

from tests.store_reference import PLACE, documented, reference
from tests.support.sites.examples import example_of
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.records.quantities import judged_points, result_entry, summary


def test_it_is_what_the_code_makes_of_its_tables():
    assert PLACE.read_text(encoding="utf-8") == reference(), "run python -m tests.store_reference"


MODULES = (judged_points, summary, result_entry, *(import_module(path) for path in ANALYSES.values()))
KNOWN = {key for module in MODULES for _, _, fields in documented(module) for key, _, _ in fields}
FREE = {
    "deviation_from_line_expanded_uncertainty_um",
    "undetermined",
    "shared_pct",
    "nonlinearity_pct",
    "deviation_from_line_um",
    "weights",
    "tests",
    "proposed_months",
    "quantities",
}
"""Members whose own keys are names of things, not keys of the contract."""


def keys_in(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            if key not in FREE:
                yield from keys_in(inner)
    elif isinstance(value, list):
        for item in value:
            yield from keys_in(item)


@pytest.mark.parametrize("analysis", ANALYSES)
def test_every_key_of_every_entry_is_documented(analysis):
    visit, channel = example_of(analysis)
    result = analysis_named(analysis).perform(visit, channel=channel, condition="as-found")
    entry = result_entry.result_entry(result)
    found = {*keys_in(entry), *keys_in(entry["quantities"])}
    assert found - KNOWN <= {"from", "to"}  # words of Python's own
