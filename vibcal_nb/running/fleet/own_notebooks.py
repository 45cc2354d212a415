"""The package's own notebooks by version: the sum over what each executes, whatever outputs are stored in it.

Written by ``python -m tests.store_outputs``, which a change of a notebook's cells asks for. A sum that is replaced goes
to the earlier ones and stays there for good: by them a record tells that it was made with the package's own notebook of
its time. What stands in neither list was never the package's own.
"""

from __future__ import annotations

from collections.abc import Mapping

OWN_NOTEBOOKS: Mapping[str, Mapping[str, str]] = {
    "0.1.0": {
        "band_response.ipynb": "0ecbc7520e97ee58032bf6d07d6b0babaf4d91a824f7e9e9dbba0068be7fa83d",
        "channel_verdict.ipynb": "4fda5426977876faaaeee29c35080f2ea3432405bd175bfd7c76a1a3a36f1d4d",
        "drift_and_interval.ipynb": "e77eb015a5325cb56766b093292f443cf6d930131b9fc64bcae2018804327599",
        "electrical_health.ipynb": "8e99fc1aa387a0cd0215653e069f91f40fb8743bbc9d6277b97f06a77a15eabf",
        "gap_curve.ipynb": "08b121c60139332e4aa4740317d492013945730b19b95b8acfdcb09e69a0ab10",
        "indication.ipynb": "c3f4cb9ca8f89eea463e8eabe6cf43adfb3c2a20f198c9a1c93a7dc79c1dbde8",
        "linearity.ipynb": "074a9294adff5aa07d933e0df118b5e44b5762033f6744c638e6f4336bb6022f",
        "sensor_alone.ipynb": "49d5d328b829d31127a3f3126e70db9ed7224baaf01894da33059f40e5f15d8c",
        "set_points.ipynb": "53046446022c063ca62b01785c26c49b5502a1bb907573b28dd0edc0f253063e",
        "voting.ipynb": "4d59299727b7cee5ba1ecdc929e3f7d12381b2c4613d8e808721462b9b072d84",
    },
}

EARLIER_NOTEBOOKS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "0.1.0": {
        "band_response.ipynb": (
            "f667dc90b15f79ebbfa04fe0eb958023fe8ea570e9f28cb8e3e00b0f74c81501",
            "1a89423e6fc8f71d3ba87435526bc56b11c501584f6f72f751a8033d40f15379",
            "8a0de96226929040c01b5d9502162bc4ad7f271b455434a658c0c62a7d83b0b8",
        ),
        "channel_verdict.ipynb": (
            "89ac17998a0fee6c64d8ccb550b1f95401d652c1dc943b6930c8defda691c93f",
            "87a0b1d3768f974a159e56d34584c0ba8d9ac72ea37ee3326dea6bbeb2ab1bef",
            "8f1d861fc1786d7d195d7df55a4ad70d46e5569f60a393620dad33d2d9340024",
        ),
        "drift_and_interval.ipynb": (
            "385d406a533bd11a9ba0adc43a2b451f5ffb950d3a2a949f5deace90e0d20d88",
            "fc98371f27b8e74459aacdb850de8c39329dd7604eb9eb03284261019997fe34",
            "6c81f4f88402406459500f29b6431b6c0a129238e9617a81e6ed2f08fb57cf53",
            "4181b4ec595cd481fd96125e9eaf36da9a7e9941e754b67c343da576eb3b4df2",
            "c0669093fe8a7e36b3564f204802a7a2cfdc5f2305e54b70ece1d5b0faf3737a",
            "0abadf80e411caf54e8c5911d9e65437a42181ea20685a3fe2da5239408cd8de",
        ),
        "linearity.ipynb": (
            "7e22935a1be63d6a081be6dd22c99fc7a9b680502037a37030df7ec0836b372c",
            "a3c1edd4765b981ddb0128fbb583fd15cebf44ccf7b0d53ebf63fefe9d2eec46",
            "33de0d56801437d993b801210133ba1e67e7ee0fe19825d0a4f3e6a62f07ccc3",
        ),
        "sensor_alone.ipynb": (
            "9451fb77ffde1add55f306877b8b2b4ff2c5ae0555d0eac69f4c6e2d29afb019",
            "81b4c8937690044506ee8036b8b6d3b224873982e98152c592dea320a0d3205d",
            "a8dcdb4e2174fe7cd7ec7affbea3b457405c7bb62840cfbd9d4f8c6e13cd75c4",
            "615118fd2f32d13e8e430e6c62d0701baa987e9b4e5d1f417da6dcf98a2d064c",
        ),
        "set_points.ipynb": (
            "98fecf5788e6b728b115f33be6f05e43ae1e9f183b5189667be331d406002dcf",
            "302581478905cf966d5ffe735304a77c506e8fd6827cf02c665e8ab0407adc7b",
        ),
        "electrical_health.ipynb": ("6a879721931c07646b604185599adf8decba295723bde6aab164bd00647ce868",),
        "gap_curve.ipynb": ("677935de6ce44ae413dfaa13fc75c1eef0192273391838149224a35c901b962a",),
        "indication.ipynb": ("c2d1787e4a339ead9891ffcc50e8ca3111b610da284dcd3629ef71b95c96e375",),
        "voting.ipynb": ("0c207372b811e0c8cfca2ef3d09b0ad27de938f07afe1422be5ad452995fd005",),
    },
}


def own_sum(version: object, file: object) -> str | None:
    """Return the latest sum of a notebook of a version of this package; None where it has no such notebook."""
    return OWN_NOTEBOOKS.get(str(version), {}).get(str(file))


def was_own(version: object, file: object, sha256: object) -> bool:
    """Whether a notebook of that sum is, or ever was, the package's own of a version."""
    return sha256 == own_sum(version, file) or sha256 in EARLIER_NOTEBOOKS.get(str(version), {}).get(str(file), ())
