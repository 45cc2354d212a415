"""Tags that changed and channels that were retired, kept beside an asset's records: the overview follows them.

``run`` writes what the asset's file states on that day into ``tags.json`` of the asset's folder. It is no record: it
says under which tag of today older records are counted, and changes none of them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from vibcal_nb.model.dated_asset import DatedAsset
from vibcal_nb.records.files.whole_files import write_atomically

TAGS_FILE = "tags.json"
SCHEMA = 1


@dataclass(frozen=True, kw_only=True)
class Tags:
    """Tags of today by older ones, and the days from which assets and channels are retired.

    ``channels`` and ``retired_channels`` are by asset (its tag of today) and channel.
    """

    assets: Mapping[str, str] = field(default_factory=dict)
    channels: Mapping[tuple[str, str], str] = field(default_factory=dict)
    retired_assets: Mapping[str, date] = field(default_factory=dict)
    retired_channels: Mapping[tuple[str, str], date] = field(default_factory=dict)

    def today(self, asset: str, channel: str) -> tuple[str, str]:
        """Return the tags of today of an asset and its channel."""
        asset = self.assets.get(asset, asset)
        return asset, self.channels.get((asset, channel), channel)

    def retired(self, asset: str, channel: str) -> date | None:
        """Return the first day on which a channel, by its tags of today, is out of service; None where it is not."""
        days = (self.retired_assets.get(asset), self.retired_channels.get((asset, channel)))
        return min((day for day in days if day is not None), default=None)


def tags_of(assets: list[DatedAsset]) -> Tags:
    """Return what the files of assets state of tags and retirement."""
    channels = [(asset, tag, channel) for asset in assets for tag, channel in asset.channels.items()]
    return Tags(
        assets={older: asset.tag for asset in assets for older in asset.formerly},
        channels={(a.tag, older): tag for a, tag, channel in channels for older in channel.formerly},
        retired_assets={asset.tag: asset.retired for asset in assets if asset.retired is not None},
        retired_channels={(a.tag, tag): c.retired for a, tag, c in channels if c.retired is not None},
    )


def write_tags(folder: Path, asset: DatedAsset) -> None:
    """Write what an asset's file states beside its records in ``folder``; nothing where it states nothing.

    Raises ``OSError``.
    """
    channels = {
        tag: _stated(channel.formerly, channel.retired)
        for tag, channel in asset.channels.items()
        if channel.formerly or channel.retired
    }
    data = {"schema": SCHEMA, "asset": asset.tag, **_stated(asset.formerly, asset.retired), "channels": channels}
    path = folder / TAGS_FILE
    if path.exists() or channels or asset.formerly or asset.retired:
        write_atomically(path, (json.dumps(data, indent=1, ensure_ascii=False) + "\n").encode("utf-8"))


def _stated(formerly: tuple[str, ...], retired: date | None) -> dict[str, Any]:
    return {"formerly": list(formerly), "retired": None if retired is None else retired.isoformat()}


def read_tags(records: Path) -> Tags:
    """Read what stands beside the records of all assets; a file that is none of this form is passed over."""
    read = (_read(path) for path in sorted(records.glob(f"*/{TAGS_FILE}")))
    assets = [data for data in read if data is not None]
    channels = [(data["asset"], tag, stated) for data in assets for tag, stated in data["channels"].items()]
    return Tags(
        assets={older: data["asset"] for data in assets for older in data["formerly"]},
        channels={(asset, older): tag for asset, tag, stated in channels for older in stated["formerly"]},
        retired_assets={data["asset"]: day for data in assets if (day := _day(data["retired"])) is not None},
        retired_channels={(a, tag): day for a, tag, stated in channels if (day := _day(stated["retired"])) is not None},
    )


def _read(path: Path) -> dict[str, Any] | None:
    """A file's content, or None where it has another form: anyone may have written it."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        parts = [data, *data["channels"].values()]
        texts = [data["asset"], *data["channels"], *(older for part in parts for older in part["formerly"])]
        good = data["schema"] == SCHEMA and all(isinstance(text, str) for text in texts)
        for part in parts:
            _day(part["retired"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    return data if good else None


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)
