"""What the record of a channel verdict calls: open all tests of a channel, and as many earlier visits as it takes."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.notebook.frame.sources import input_files, sources_table
from vibcal_nb.notebook.record import checked_parameters
from vibcal_nb.notebook.show import show
from vibcal_nb.records.perform.channel import load_channel_case

_SUFFIXES = (".toml", ".csv", ".xlsx")


def open_channel(namespace: Mapping[str, Any], **parameters: object) -> ChannelCase:
    """Load all tests of the channel that a notebook's parameters name, after checking the parameters.

    Where the channel failed as found, earlier visits of the asset are loaded too, the latest first, until one shows
    the channel good. Raises ``ParameterError``, ``InputRefused``, ``NothingToAnalyse``, which the notebook then shows
    as sentences; an earlier visit that cannot be read is noted in the case and refuses nothing.
    """
    texts = checked_parameters(namespace, parameters)
    folder = load_visit(Path(texts["visit_folder"]))
    return load_channel_case(folder, channel=texts["channel"], condition=texts["condition"])


def show_channel_provenance(case: ChannelCase, *, visit_folder: str) -> None:
    """Show what the record was made from, earlier visits included, with SHA-256 sums, and versions."""
    folder = Path(visit_folder)
    files = input_files(folder, case.table_file)
    for visit in case.earlier:
        home = Path(os.path.abspath(folder)).parent / visit.name  # noqa: PTH100
        files |= {f"{visit.name}/{path.name}": path for path in sorted(home.glob("*.*")) if path.suffix in _SUFFIXES}
    show.table(sources_table(files))
