"""What the mathematics cannot use becomes a refusal where an analysis is called."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

from vibcal_nb.metrology.unusable import Unusable
from vibcal_nb.problems import Refused

P = ParamSpec("P")
R = TypeVar("R")


class AnalysisRefused(Refused, ValueError):
    """What a visit states cannot be used for an analysis; the text is one sentence that says what to do."""


def refusing(analyse: Callable[P, R]) -> Callable[P, R]:
    """Have a function raise ``AnalysisRefused`` where the mathematics below it finds something unusable."""

    @wraps(analyse)
    def refusing_analyse(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            return analyse(*args, **kwargs)
        except Unusable as unusable:
            text = str(unusable)
            raise AnalysisRefused(f"{text[:1].upper()}{text[1:]}") from unusable

    return refusing_analyse
