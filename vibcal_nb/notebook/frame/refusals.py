"""Refusals in a notebook as sentences in a calm box, with the traceback folded away below them."""

from __future__ import annotations

import traceback
from html import escape
from typing import Any

from vibcal_nb.problems import Refused

STOPPED = "Stopped: mend what is said above, then run the notebook again."
"""The traceback of a cell that was refused, by which a batch knows a refusal from a fault of the software."""


def show_refusals_plainly() -> None:
    """Have this notebook's kernel show refusals as `refusal_html` does; without a kernel nothing happens."""
    from IPython import get_ipython

    shell = get_ipython()
    if shell is not None:
        shell.set_custom_exc((Refused,), _show)


def refusal_html(error: BaseException) -> str:
    """Return the refusal's sentences as a list, and the traceback to unfold."""
    sentences = "".join(f"<li>{escape(line)}</li>" for line in str(error).splitlines())
    trace = escape("".join(traceback.format_exception(error)))
    return (
        '<div role="alert" style="border-left: 4px solid #d55e00; padding: 0.2em 1em">'
        f"<p><b>This cannot be used as it stands.</b></p><ul>{sentences}</ul>"
        f"<details><summary>Technical details</summary><pre>{trace}</pre></details></div>"
    )


def _show(shell: Any, kind: type[BaseException], error: BaseException, trace: Any, tb_offset: Any = None) -> None:
    from IPython.display import display

    display({"text/html": refusal_html(error), "text/plain": str(error)}, raw=True)
    # the error output itself stays, so that whatever executes the notebook knows that it failed
    shell._showtraceback(kind, error, [STOPPED])
