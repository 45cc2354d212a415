"""Analysis workbooks for the calibration of vibration channels: what a script of one's own imports.

A visit's folder is read once, and each analysis of it is one call. A result shows itself in a notebook's cell, as a
frame of its readings, and as a figure:

>>> import vibcal_nb as vn
>>> visit = vn.read_visit("data_demo/STG-1/2026-05-19")
>>> result = vn.perform(visit, "linearity", channel="STG-1-V12")
>>> result
<LinearityResult: STG-1-V12 as-found, visit 2026-05-19: fail>
>>> print(result.table()["deviation from nominal, %"].min().round(1))
-8.5
>>> figure = result.plot()

Readings in memory are judged alike, by the keys of ``asset.toml`` and ``equipment.toml``:

>>> frame = {"frequency_hz": 50, "applied": [3.0, 8.0, 13.0, 18.0], "output": [11.9, 31.8, 51.6, 71.5]}
>>> limits = dict(input_unit="mm/s pk", output_unit="mV pk", nominal_sensitivity=4.0, tolerance_pct=5.0)
>>> kit = dict(equipment="data_demo/equipment.toml", used=["REF-26", "DVM-26"], date="2026-05-19")
>>> vn.linearity(frame, channel=limits, applied_unit="mm/s pk", output_unit="mV pk", **kit).verdict
'pass'

What cannot be used is refused in sentences: every refusal is a `Refused`.
"""

from __future__ import annotations

import sys

if sys.argv[:1] == ["-m"] and not sys.flags.safe_path:  # `python -m vibcal_nb`: the current folder, which may have come
    del sys.path[0]  # by mail, is no library; the package itself has been found, and finds its own modules

from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, Any

from vibcal_nb.analysis.result import Result

if TYPE_CHECKING:
    from vibcal_nb.face import band_response, linearity, perform, read_visit, sensor_alone
    from vibcal_nb.problems import InputRefused, Refused

__all__ = [
    "InputRefused",
    "Refused",
    "Result",
    "__version__",
    "band_response",
    "linearity",
    "perform",
    "read_visit",
    "sensor_alone",
]

_HOMES = {"InputRefused": "vibcal_nb.problems", "Refused": "vibcal_nb.problems"}


def __getattr__(name: str) -> Any:
    """Load what is asked for when it is: a notebook loads nothing that it does not use."""
    if name == "__version__":
        try:
            return version("vibcal_nb")
        except PackageNotFoundError:
            return "unknown"
    if name in __all__:
        return getattr(import_module(_HOMES.get(name, "vibcal_nb.face")), name)
    raise AttributeError(f"module 'vibcal_nb' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted(__all__)


def _presented(result: Any) -> Any:
    """Results stand below what shows them; here, above both, they are brought together."""
    from vibcal_nb.display.results.presented import Presented

    return Presented(result)


Result.presented = staticmethod(_presented)
