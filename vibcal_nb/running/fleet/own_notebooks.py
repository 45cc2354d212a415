"""The package's own notebooks by version: the sum over what each executes, whatever outputs are stored in it.

Written by ``python -m tests.store_outputs``, which a change of a notebook's cells asks for. The sums of earlier
versions stay: by them a record of an earlier version tells that it was made with the notebooks of that version.
"""

from __future__ import annotations

from collections.abc import Mapping

OWN_NOTEBOOKS: Mapping[str, Mapping[str, str]] = {
    "0.1.0": {
        "band_response.ipynb": "f667dc90b15f79ebbfa04fe0eb958023fe8ea570e9f28cb8e3e00b0f74c81501",
        "channel_verdict.ipynb": "89ac17998a0fee6c64d8ccb550b1f95401d652c1dc943b6930c8defda691c93f",
        "drift_and_interval.ipynb": "385d406a533bd11a9ba0adc43a2b451f5ffb950d3a2a949f5deace90e0d20d88",
        "linearity.ipynb": "7e22935a1be63d6a081be6dd22c99fc7a9b680502037a37030df7ec0836b372c",
        "sensor_alone.ipynb": "9451fb77ffde1add55f306877b8b2b4ff2c5ae0555d0eac69f4c6e2d29afb019",
    },
}


def own_sum(version: object, file: object) -> str | None:
    """Return the sum of a notebook of a version of this package; None where it has no such notebook."""
    return OWN_NOTEBOOKS.get(str(version), {}).get(str(file))
