"""How far a visit's tests have got, channel by channel: of the rows of its table, those that are read."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from vibcal_nb.model.readings import PendingRow, Reading, ReadingTable


@dataclass(frozen=True, kw_only=True)
class TestProgress:
    """Rows of one test of one channel: how many there are, how many of them are read."""

    __test__ = False  # no test of the project's own

    channel: str
    test: str
    condition: str
    read: int
    planned: int

    @property
    def is_done(self) -> bool:
        """Whether every row is read."""
        return self.read == self.planned


def progress(table: ReadingTable) -> tuple[TestProgress, ...]:
    """Return the progress of each test, in the order of the table."""
    read = Counter((row.channel, row.test, row.condition) for row in table.readings)
    pending = Counter((row.channel, row.test, row.condition) for row in table.open)
    both: list[Reading | PendingRow] = [*table.readings, *table.open]
    rows = sorted(both, key=lambda row: row.row)
    keys = dict.fromkeys((row.channel, row.test, row.condition) for row in rows)
    return tuple(
        TestProgress(channel=c, test=t, condition=k, read=read[c, t, k], planned=read[c, t, k] + pending[c, t, k])
        for c, t, k in keys
    )
