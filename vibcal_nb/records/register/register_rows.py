"""A row of the register: what of a record it holds, and the hash that chains it to the row before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, fields
from typing import Any

from vibcal_nb.records.quantities.summary_check import is_entry, is_summary

FIRST = "0" * 64  # what the first row is chained to


@dataclass(frozen=True, kw_only=True)
class RegisterRow:
    """A result as the register holds it.

    ``record`` is the record's path from the register's folder, with forward slashes; ``seal`` is the record's
    own seal or, where it has none, the SHA-256 sum of its file, as ``seal_kind`` says (``seal`` or ``file``).
    ``margin_pct`` is the distance of the worst judged value from its limit (see ``analysis.margins``).
    ``summary`` and ``quantities`` are JSON; the quantities' long lists of points stay in the record.
    """

    asset: str
    visit: str
    date: str | None
    channel: str
    analysis: str
    condition: str
    verdict: str
    margin_pct: float | None
    record: str
    seal: str
    seal_kind: str
    statement: str
    summary: str
    quantities: str

    @property
    def key(self) -> tuple[str, ...]:
        """What a later row must share to be a later state of the same record."""
        return self.asset, self.visit, self.channel, self.analysis, self.condition


COLUMNS = tuple(field.name for field in fields(RegisterRow))


def make_row(
    entry: Mapping[str, Any], *, asset: str, visit: str, record: str, seal: str, seal_kind: str
) -> RegisterRow:
    """Make the row of a record from the result it carries; ``asset`` and ``visit`` hold where that lacks them.

    Raises ``ValueError`` with a clause where the result is not in the form that this software gives it.
    """
    summary = entry.get("summary") or {}
    if not is_entry(entry) or not is_summary(summary):
        raise ValueError("its result is not in the form that this version gives it")
    worst = summary.get("worst") or {}
    return RegisterRow(
        asset=summary.get("asset", asset),
        visit=summary.get("visit", visit),
        date=summary.get("date"),
        channel=entry["channel"],
        analysis=entry["analysis"],
        condition=entry["condition"],
        verdict=entry["verdict"],
        margin_pct=worst.get("margin_pct"),
        record=record,
        seal=seal,
        seal_kind=seal_kind,
        statement=entry["statement"],
        summary=_json(summary),
        quantities=_json(_without_points(entry["quantities"])),
    )


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def _without_points(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _without_points(item) for name, item in value.items() if name != "points"}
    return [_without_points(item) for item in value] if isinstance(value, list) else value


def chain_hash(sequence: int, previous: str, values: Sequence[Any]) -> str:
    """Return the SHA-256 sum of a row: its number, the hash of the row before, and all it says, in JSON."""
    # bytes, which no row is written with, stand as what they are
    text = json.dumps([sequence, previous, *values], ensure_ascii=False, separators=(",", ":"), default=repr)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def row_values(row: RegisterRow) -> tuple[Any, ...]:
    """Return the row's values in the order of ``COLUMNS``."""
    return astuple(row)
