"""What the record of a channel verdict calls: open all tests of a channel, and as many earlier visits as it takes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.channel_case import ChannelCase
from vibcal_nb.notebook.frame.opened import note_opened
from vibcal_nb.notebook.record import checked_parameters
from vibcal_nb.records.inputs_used.record_inputs import LookedAt, state_channel
from vibcal_nb.records.perform.channel import load_channel_case


def open_channel(namespace: Mapping[str, Any], **parameters: object) -> ChannelCase:
    """Load all tests of the channel that a notebook's parameters name, after checking the parameters.

    Where the channel failed as found, earlier visits of the asset are loaded too, the latest first, until one shows
    the channel good. Raises ``ParameterError``, ``InputRefused``, ``NothingToAnalyse``, which the notebook then shows
    as sentences; an earlier visit that cannot be read is noted in the case and refuses nothing.
    """
    texts = checked_parameters(namespace, parameters)
    folder = load_visit(Path(texts["visit_folder"]))
    names = {name: texts[name] for name in ("channel", "condition")}
    looked_at = LookedAt(load_visit)
    case = load_channel_case(folder, **names, load=looked_at.load)
    statement = state_channel(folder, names["channel"], looked_at.visits)
    note_opened(statement, channel=names["channel"], condition=names["condition"], folder=folder.path)
    return case
