"""Why an uncertainty, its k or its degrees of freedom is null in a result's quantities."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

INFINITE = "infinitely many: no part of the uncertainty rests on few readings"
NOT_JUDGED = "no reading was judged against a limit"
#: What stands before an uncertainty's name, and the quantity that it is the uncertainty of.
_OWNERS = {
    "": ("sensitivity", "reference_sensitivity"),
    "flat_worst_": ("flat_worst_pct",),
    "corner_low_": ("corner_low_hz",),
    "corner_high_": ("corner_high_hz",),
    "worst_deviation_": ("worst_deviation_pct",),
    "nonlinearity_": ("nonlinearity_pct",),
}
_PARTS = ("expanded_uncertainty", "expanded_uncertainty_pct", "k", "effective_degrees_of_freedom")


def reasons_of_uncertainty(values: Mapping[str, Any], reasons: Mapping[str, str]) -> dict[str, str]:
    """Return ``reasons`` (of null quantities among ``values``) with those of their uncertainties."""
    return dict(_found(values, reasons)) | dict(reasons)


def _found(values: Mapping[str, Any], reasons: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    if values.get("together", True) is None:
        yield "together", NOT_JUDGED
    for prefix, owners in _OWNERS.items():
        why = next((reasons[owner] for owner in owners if owner in reasons), INFINITE)
        for part in _PARTS:
            if values.get(prefix + part, True) is None:
                yield prefix + part, why
