"""Where the standard notebooks are."""

from __future__ import annotations

from pathlib import Path

import vibcal_nb
from vibcal_nb.problems import NotDone


class NotebooksMissing(NotDone):
    """The folder of the standard notebooks is not where it should be; the text is one sentence."""


def find_notebooks() -> Path:
    """Find the folder of the standard notebooks, beside the package.

    Raises ``NotebooksMissing`` where the package was installed without it.
    """
    folder = Path(vibcal_nb.__file__).parents[1] / "notebooks"
    if not folder.is_dir():
        raise NotebooksMissing(
            f"The standard notebooks are not at {folder}; run from a checkout of the repository, with the "
            "package installed from it by pip install -e ."
        )
    return folder
