"""The standard notebooks: which one answers which test, and what it needs to know about the channel."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import vibcal_nb
from vibcal_nb.model.asset import Channel
from vibcal_nb.model.names import BAND_RESPONSE, CHANNEL_VERDICT, DRIFT, LINEARITY, SENSOR_ALONE


class NotebooksMissing(Exception):  # noqa: N818  # a state of the installation, named as one says it
    """The folder of the standard notebooks is not where it should be; the text is one sentence."""


@dataclass(frozen=True, kw_only=True)
class StandardNotebook:
    """A notebook of the notebooks folder; ``specification`` is the table of the channel that it needs."""

    analysis: str
    file: str
    specification: str | None = None

    def lacking(self, channel: Channel) -> str | None:
        """Say why the notebook cannot judge this channel, or None where it can."""
        if self.specification is None or getattr(channel, self.specification) is not None:
            return None
        table = f"[channels.{channel.tag}.{self.specification}]"
        return f"asset.toml has no table {table} to judge it by; add the table, or name other tests with --analysis"


STANDARD_NOTEBOOKS = {
    notebook.analysis: notebook
    for notebook in (
        StandardNotebook(analysis=LINEARITY, file="linearity.ipynb"),
        StandardNotebook(analysis=BAND_RESPONSE, file="band_response.ipynb", specification="band"),
        StandardNotebook(analysis=SENSOR_ALONE, file="sensor_alone.ipynb", specification="sensor"),
        StandardNotebook(analysis=DRIFT, file="drift_and_interval.ipynb"),
        StandardNotebook(analysis=CHANNEL_VERDICT, file="channel_verdict.ipynb"),
    )
}


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
