"""Analysis workbooks for the calibration of vibration channels."""

from __future__ import annotations

from typing import Any

from vibcal_nb.analysis.result import Result


def _presented(result: Any) -> Any:
    """Results stand below what shows them; here, above both, they are brought together."""
    from vibcal_nb.display.results.presented import Presented

    return Presented(result)


Result.presented = staticmethod(_presented)
