"""The package's own notebooks by version: the sum over what each executes, whatever outputs are stored in it.

Written by ``python -m tests.store_outputs``, which a change of a notebook's cells asks for. The sums of earlier
versions stay: by them a record of an earlier version tells that it was made with the notebooks of that version.
"""

from __future__ import annotations

from collections.abc import Mapping

OWN_NOTEBOOKS: Mapping[str, Mapping[str, str]] = {
    "0.1.0": {
        "band_response.ipynb": "8a0de96226929040c01b5d9502162bc4ad7f271b455434a658c0c62a7d83b0b8",
        "channel_verdict.ipynb": "8f1d861fc1786d7d195d7df55a4ad70d46e5569f60a393620dad33d2d9340024",
        "drift_and_interval.ipynb": "6c81f4f88402406459500f29b6431b6c0a129238e9617a81e6ed2f08fb57cf53",
        "linearity.ipynb": "33de0d56801437d993b801210133ba1e67e7ee0fe19825d0a4f3e6a62f07ccc3",
        "sensor_alone.ipynb": "615118fd2f32d13e8e430e6c62d0701baa987e9b4e5d1f417da6dcf98a2d064c",
    },
}


def own_sum(version: object, file: object) -> str | None:
    """Return the sum of a notebook of a version of this package; None where it has no such notebook."""
    return OWN_NOTEBOOKS.get(str(version), {}).get(str(file))
