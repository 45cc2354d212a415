"""Whether a person is at the notebook."""

from __future__ import annotations

import os


def is_interactive() -> bool:
    """Whether a person is at the notebook: a front end that can ask for input, or a page that voila serves.

    No batch execution is either.
    """
    from IPython import get_ipython

    shell = get_ipython()
    kernel = getattr(shell, "kernel", None)
    return bool(getattr(kernel, "_allow_stdin", False)) or is_served_page(kernel)


def is_served_page(kernel: object) -> bool:
    """Whether the kernel is that of a page without code, which voila serves to a person."""
    return kernel is not None and os.environ.get("SERVER_SOFTWARE", "").startswith("voila/")
