"""Whether a person is at the notebook."""

from __future__ import annotations


def is_interactive() -> bool:
    """Whether a person is at the notebook: a front end that can ask for input, as no batch execution can."""
    from IPython import get_ipython

    shell = get_ipython()
    kernel = getattr(shell, "kernel", None)
    return bool(getattr(kernel, "_allow_stdin", False))
