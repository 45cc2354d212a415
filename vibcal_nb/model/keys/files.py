"""Which table of keys each input file is read by, and all tables in turn."""

from __future__ import annotations

from collections.abc import Iterator

from vibcal_nb.model.keys.asset_keys import ASSET_FILE, KINDS_FILE
from vibcal_nb.model.keys.equipment_keys import EQUIPMENT_FILE
from vibcal_nb.model.keys.key import KeyTable
from vibcal_nb.model.keys.site_keys import SITE_FILE
from vibcal_nb.model.keys.visit_keys import VISIT_FILE
from vibcal_nb.model.keys.waveform_keys import RECORDING_FILE, WAVEFORM_FILE

FILES = {
    "site.toml": SITE_FILE,
    "equipment.toml": EQUIPMENT_FILE,
    "kinds.toml": KINDS_FILE,
    "asset.toml": ASSET_FILE,
    "visit.toml": VISIT_FILE,
    "waveforms/waveforms.toml": WAVEFORM_FILE,
    "recording.toml": RECORDING_FILE,
}


def tables_of(root: KeyTable) -> Iterator[KeyTable]:
    """Yield a table and every table below it, each once, in the order of their keys."""
    seen: set[str] = set()

    def walk(table: KeyTable) -> Iterator[KeyTable]:
        if table.heading in seen:
            return
        seen.add(table.heading)
        yield table
        for below in (table.each, *(key.table for key in table.keys)):
            if below is not None:
                yield from walk(below)

    yield from walk(root)
