"""A pytest plugin: the same few examples in every run of a hypothesis test, so that a mutant's fate is no chance."""

from __future__ import annotations

from hypothesis import Phase, settings

EXAMPLES = 25


def pytest_collection_modifyitems(items):
    for function in {item.function for item in items if hasattr(item, "function")}:
        stated = getattr(function, "_hypothesis_internal_use_settings", None)
        if stated is not None:
            function._hypothesis_internal_use_settings = settings(
                stated,
                max_examples=min(EXAMPLES, stated.max_examples),
                derandomize=True,
                database=None,
                deadline=None,
                phases=(Phase.explicit, Phase.generate),
            )
