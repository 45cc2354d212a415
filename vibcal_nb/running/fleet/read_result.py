"""The result that an executed notebook carries, read back and checked."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.problems import NotDone
from vibcal_nb.records.seal.record_content import MIME_TYPE, results_in
from vibcal_nb.running.fleet.record_path import RecordCase


class ResultUnusable(NotDone):
    """The notebook ran, and yet is no record; the text says why in one clause."""


def read_result(notebook: Mapping[str, Any], case: RecordCase) -> dict[str, Any]:
    """Return the result inside an executed notebook.

    Raises ``ResultUnusable`` where there is none or more than one, where it is the result of another case
    (a notebook that ran on its defaults), where it is not strict JSON (NaN), or lacks its verdict.
    """
    found = results_in(notebook)
    if len(found) != 1:
        count = "no result" if not found else f"{len(found)} results where one belongs"
        raise ResultUnusable(f"the notebook shows {count} of type {MIME_TYPE}")
    result = found[0]
    if not isinstance(result, Mapping):
        raise ResultUnusable("the notebook's result is not a JSON object")
    _check_case(result, case)
    _check_contents(result)
    return dict(result)


def _check_case(result: Mapping[str, Any], case: RecordCase) -> None:
    asked = {"channel": case.channel, "analysis": case.analysis, "condition": case.condition}
    for name, value in asked.items():
        if result.get(name) != value:
            raise ResultUnusable(f"the notebook's result is of {name} {result.get(name)!r}, not {value!r}")


def _check_contents(result: Mapping[str, Any]) -> None:
    if result.get("verdict") not in VERDICTS:
        words = ", ".join(VERDICTS)
        raise ResultUnusable(
            f"the notebook's result has the verdict {result.get('verdict')!r} instead of one of {words}"
        )
    if not isinstance(result.get("statement"), str) or "quantities" not in result:
        raise ResultUnusable("the notebook's result lacks its statement or its quantities")
    try:
        json.dumps(result, allow_nan=False)
    except ValueError:
        raise ResultUnusable("the notebook's result holds NaN or infinity, which is not JSON") from None
