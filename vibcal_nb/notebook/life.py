"""What the channel history notebook calls: gather a channel's life, after checking its parameters."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.life.channel_life import ChannelLife
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.life.gather_life import gather_life

PARAMETERS = ("visit_folder", "channel", "records_folder")


def open_life(namespace: Mapping[str, Any]) -> ChannelLife:
    """Gather the life that a notebook's parameters name; ``namespace`` is the notebook's ``globals()``.

    Raises ``ParameterError``, ``InputRefused`` or ``NothingToAnalyse``, which the notebook shows as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, PARAMETERS)
    folder, channel = (require_text(name, namespace.get(name)) for name in PARAMETERS[:2])
    records = str(namespace.get("records_folder") or "")
    if records and not Path(records).is_dir():
        raise ParameterError(
            f"The parameter records_folder is {records!r}; give a folder of records, or leave it empty."
        )
    return gather_life(Path(folder), channel=channel, records=Path(records) if records else None)
