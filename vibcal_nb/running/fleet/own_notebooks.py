"""The package's own notebooks by version: the sum over what each executes, whatever outputs are stored in it.

Written by ``python -m tests.store_outputs``, which a change of a notebook's cells asks for. The sums of earlier
versions stay: by them a record of an earlier version tells that it was made with the notebooks of that version.
"""

from __future__ import annotations

from collections.abc import Mapping

OWN_NOTEBOOKS: Mapping[str, Mapping[str, str]] = {
    "0.1.0": {
        "band_response.ipynb": "1a89423e6fc8f71d3ba87435526bc56b11c501584f6f72f751a8033d40f15379",
        "channel_verdict.ipynb": "87a0b1d3768f974a159e56d34584c0ba8d9ac72ea37ee3326dea6bbeb2ab1bef",
        "drift_and_interval.ipynb": "fc98371f27b8e74459aacdb850de8c39329dd7604eb9eb03284261019997fe34",
        "linearity.ipynb": "a3c1edd4765b981ddb0128fbb583fd15cebf44ccf7b0d53ebf63fefe9d2eec46",
        "sensor_alone.ipynb": "81b4c8937690044506ee8036b8b6d3b224873982e98152c592dea320a0d3205d",
    },
}


def own_sum(version: object, file: object) -> str | None:
    """Return the sum of a notebook of a version of this package; None where it has no such notebook."""
    return OWN_NOTEBOOKS.get(str(version), {}).get(str(file))
