"""What a result does not show, so that a reader does not assume it."""

from __future__ import annotations

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.names import ACTING, IN_PLACE


def list_not_shown(result: Result) -> tuple[str, ...]:
    """List what a result does not show beyond what was not verified: where its readings end, what was not tested."""
    return (
        *view_of(result).not_shown(result),
        *(() if result.case.channel.group else (IN_PLACE,)),
        *(() if view_of(result).shows_relays(result) else (ACTING,)),
    )
