"""Where the standard notebooks are."""

from __future__ import annotations

from pathlib import Path

import vibcal_nb
from vibcal_nb.problems import NotDone
from vibcal_nb.records.analyses import ANALYSES, analysis_named
from vibcal_nb.running.fleet.stamp import notebook_stamp


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


def list_changed(notebooks: Path) -> list[str]:
    """List the notebooks of a folder that make records and are not the package's own, each with its sum.

    Raises ``OSError``, ``ValueError``.
    """
    stamps = [notebook_stamp(notebooks / analysis_named(name).notebook) for name in ANALYSES]
    return [f"{stamp['file']} (SHA-256 {stamp['sha256'][:16]}…)" for stamp in stamps if not stamp["own"]]
