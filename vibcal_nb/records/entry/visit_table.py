"""The visit's reading table while readings are entered: each is in it, on the disk, before it is acknowledged."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from vibcal_nb.inputs.load_visits import TABLES
from vibcal_nb.inputs.read_readings import read_readings
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.readings import Reading, ReadingTable
from vibcal_nb.problems import InputRefused, Problem, file_trouble
from vibcal_nb.records.entry.journal import ACCEPT, CHANGE, ENTER, FOLDER, Event, Journal, JournalFile, machine_name
from vibcal_nb.records.entry.journals import OtherJournals, Wanted, wanted_by
from vibcal_nb.records.entry.keys import Cells, Key, key_of
from vibcal_nb.records.entry.merge import Merged, keys_in, merge, open_key
from vibcal_nb.records.entry.open_table import read_settled
from vibcal_nb.records.entry.others import Other, others_at
from vibcal_nb.records.entry.table_text import new_table, read_table_text
from vibcal_nb.records.files.folder_lock import NoLocks, claimed
from vibcal_nb.records.files.whole_files import write_atomically

LAST = "last-written.csv"


def local_now() -> datetime:
    """Return the time of this machine, with its zone."""
    return datetime.now().astimezone()


@dataclass(frozen=True, kw_only=True)
class Kept:
    """What became of an act: the row of the table, None where it is in the journal alone, and what to tell.

    ``reading`` is what was entered, None of another act.
    """

    row: int | None
    told: tuple[str, ...] = ()
    reading: Reading | None = None


class VisitTable:
    """The reading table of one visit; nothing is written before the first act.

    ``text`` is the table as it stands, ``table`` its readings; where it cannot be read that is None, and ``problems``
    say why.
    """

    def __init__(
        self,
        visit_folder: Path,
        *,
        asset: Asset,
        columns: Mapping[str, str],
        by: str = "",
        now: Callable[[], datetime] = local_now,
    ) -> None:
        self.folder, self.asset, self.columns, self.now = visit_folder, asset, columns, now
        self.path = visit_folder / TABLES[0]
        self._base = visit_folder / FOLDER / LAST
        self._last: bytes | None = None
        self._known: frozenset[Key] = self._known_before()
        self.text = new_table()
        self.table: ReadingTable | None = ReadingTable(readings=(), file=self.path.name)
        self.problems: tuple[Problem, ...] = ()
        self.by = by
        self._journal: Journal | None = None
        self._others = OtherJournals(visit_folder)
        self._heard: tuple[JournalFile, ...] = ()
        self._want, self._added = Wanted(), 0

    @property
    def journal(self) -> Journal:
        """The journal of this program, which is made when it is first written to. Raises ``OSError``."""
        if self._journal is None:
            self._journal = Journal(self.folder, by=self.by, now=self.now())
            self._others.own = self._journal.path
        return self._journal

    @property
    def events(self) -> Sequence[Event]:
        """What was done here, in the order of time."""
        return () if self._journal is None else self._journal.events

    def look(self) -> None:
        """Read the table as it stands; nothing is written. Raises ``InputRefused``, ``OSError``."""
        if self.path.exists():
            self.text = read_table_text(self.path.read_bytes(), columns=self.columns, file=self.path.name)
        self._read()

    def enter(self, cells: Cells, *, fills: Cells | None = None) -> Kept:
        """Keep a reading, given by column as it was typed; ``fills`` are the cells of the planned row it was read for.

        Raises ``InputRefused`` where it is no reading: nothing is kept then. Raises ``OSError`` where it could not be
        kept on the disk.
        """
        row = self._numbered({name: cell.strip() for name, cell in cells.items() if cell.strip()})
        reading = self._read_alone(row)
        event = {"do": ENTER, "row": row, "fills": None if fills is None else list(open_key(fills))}
        kept = self._act(event, key_of(row))
        number = kept.row or len(self.text.rows) + 1
        return replace(kept, reading=replace(reading, row=number))

    def change(self, number: int, column: str, text: str) -> Kept:
        """Put a reason or a remark into a row; '' takes it out. Raises ``OSError``, ``InputRefused``."""
        cells = self.text.cells(number)
        if len(text) > 1000 or cells.get(column, "") == text:
            return Kept(row=number)
        key = key_of(cells)
        event = {"do": CHANGE, "key": list(key), "column": column, "was": cells.get(column, ""), "now": text}
        return self._act(event, key)

    def settle(self) -> Kept:
        """Bring the table into line with all journals, and read it where it was changed elsewhere."""
        return self._act(None, ())

    def others(self) -> tuple[Other, ...]:
        """Return who else is entering readings, and show them that this program is, once anything was entered here."""
        now = time.time()
        if self._journal is not None:
            self._journal.touch()
            now = self._journal.path.stat().st_mtime  # by the clock of the share
        return others_at(self._others.read(), now=now, machine=machine_name())

    def row_of(self, cells: Cells) -> int | None:
        """Return where a row stands now."""
        return self._number(key_of(cells))

    def close(self) -> None:
        """Say that this program has ended."""
        if self._journal is not None:
            self._journal.close(now=self.now())

    def _act(self, event: Event | None, key: Key) -> Kept:
        with self._alone():
            if event is not None:
                self.journal.add(event, now=self.now())
            try:
                told = self._bring_into_line(key)
            except InputRefused as refused:
                return Kept(row=None, told=(f"{refused} What is entered meanwhile is kept in {FOLDER}.",))
            except OSError as error:
                told = (f"{file_trouble(error)}. What is entered meanwhile is kept in {FOLDER} and follows.",)
                return Kept(row=None, told=told)
        return Kept(row=self._number(key), told=told)

    def _bring_into_line(self, key: Key) -> tuple[str, ...]:
        data = read_settled(self.path, last=self._last)
        text = new_table() if data is None else read_table_text(data, columns=self.columns, file=self.path.name)
        merged = merge(text, self._wanted(), known=self._known)
        for before, now in merged.edited:
            self.journal.add({"do": ACCEPT, "key": list(before), "now": list(now)}, now=self.now())
        new = merged.table.data
        if data is None and not merged.added:
            new = b""  # there is no table yet, and nothing for it
        elif new != data:
            write_atomically(self.path, new)
            self._keep_base(new)
        elsewhere = self._last is not None and data != self._last
        strange = len(keys_in(text) - self._known) if elsewhere else 0
        self._last, self._known = new or None, keys_in(merged.table)
        self.text = merged.table
        self._read()
        return tuple(_told(merged, self.path.name, key=key, elsewhere=elsewhere, strange=strange))

    def _wanted(self) -> Wanted:
        """What all journals want; only what came since the last look is added, where it came here alone."""
        others = self._others.read()
        if others != self._heard:
            self._heard, self._added = others, len(self.events)
            own = JournalFile(path=self.path, events=tuple(self.events), unreadable=0)
            self._want = wanted_by((own, *others))
        for event in self.events[self._added :]:
            self._want.add(event)
        self._added = len(self.events)
        return self._want

    def _numbered(self, row: dict[str, str]) -> dict[str, str]:
        """A reading that stands there already to the last digit was read once more: it gets the next number."""
        taken = {*self._known, *self._wanted().entered}
        number = 2
        while key_of(row) in taken:
            row = {**row, "repeat": str(number)}
            number += 1
        return row

    def _read_alone(self, row: Cells) -> Reading:
        """Read the row by itself as the table will be read. Raises ``InputRefused`` with every problem of it."""
        problems: list[Problem] = []
        with tempfile.TemporaryDirectory() as folder:
            trial = Path(folder) / self.path.name
            trial.write_bytes(new_table().with_row(row).data)
            found = read_readings(trial, problems, asset=self.asset, columns={})
        if found is None or not found.readings:
            raise InputRefused(problems)
        return found.readings[0]

    def _read(self) -> None:
        problems: list[Problem] = []
        if self.path.exists():
            self.table = read_readings(self.path, problems, asset=self.asset, columns=self.columns)
        self.problems = tuple(problems)

    def _number(self, key: Key) -> int | None:
        return next((number for number, cells in self.text.below() if key_of(cells) == key), None)

    def _known_before(self) -> frozenset[Key]:
        """The rows of the table as one of these programs wrote it last; none where none did."""
        try:
            text = read_table_text(self._base.read_bytes(), columns=self.columns, file=LAST)
        except (OSError, InputRefused):
            return frozenset()
        return keys_in(text)

    def _keep_base(self, data: bytes) -> None:
        try:
            self._base.write_bytes(data)
        except OSError:  # it only tells an edited row from a lost one
            return

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Hold the table's lock; a share without locks has the journals alone, which bring all into line."""
        try:
            with claimed(self.path, wait=True):
                yield
        except NoLocks:
            yield


def _told(merged: Merged, file: str, *, key: Key, elsewhere: bool, strange: int) -> Iterator[str]:
    """Say what another program did to the table, and what was done about it."""
    back = [entered for entered in merged.added if entered.key != key]
    if back:
        rows = f"{len(back)} readings that were" if len(back) > 1 else "1 reading that was"
        yield f"{file} lacked {rows} entered before: put back from the journal."
    if merged.edited:
        rows = f"{len(merged.edited)} rows" if len(merged.edited) > 1 else "1 row"
        yield f"{rows} of {file} changed in another program: it counts as it is there now."
    if merged.marked and not merged.added and elsewhere:
        yield f"{file} lacked a reason or a remark: put back from the journal."
    if strange > len(merged.edited):
        new = strange - len(merged.edited)
        yield f"{file} has {new} new {'row' if new == 1 else 'rows'} from elsewhere."
