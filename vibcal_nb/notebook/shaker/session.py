"""The acts of a person at the shaker, one after the other: nothing here knows how it is shown."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.entry.answer import Answer
from vibcal_nb.analysis.entry.coming_off import ComingOff, Performed
from vibcal_nb.analysis.entry.more_steps import falling_steps, last_checks, repeated_steps, retaken_step
from vibcal_nb.analysis.entry.steps import Step
from vibcal_nb.model.names import AS_FOUND, CONDITIONS, TESTS
from vibcal_nb.model.readings import Reading
from vibcal_nb.notebook.shaker.fields import Values, added_step, cells_of, head_values
from vibcal_nb.notebook.shaker.listening import listen
from vibcal_nb.notebook.shaker.questions import AGAIN, AS_READ, CHANNEL, CONFIRMED, MEANT, Asked, ask, write_meant
from vibcal_nb.notebook.shaker.recordings import Offer, is_recording, offer_recording, why_not
from vibcal_nb.notebook.shaker.visit import ShakerVisit
from vibcal_nb.problems import NotDone, Refused, in_words
from vibcal_nb.records.entry.visit_table import Kept


class Session:
    """What a person does, and what there is to be shown after it.

    ``channel`` and ``condition`` are what is read now, ``step`` what is to be read next (None: nothing is left),
    ``answer`` what the last reading said, with its row in ``row``, and ``performed`` what its test would be judged;
    ``asked`` is a question that waits for its answer: until then nothing else is entered. ``refused`` says why the
    last act was not done, ``told`` what else there is to know. ``page`` is what is looked at beside the step.
    """

    def __init__(self, visit: ShakerVisit) -> None:
        self.visit = visit
        self.condition = AS_FOUND
        self.channel = self._first_channel()
        self.chosen: Step | None = None
        self.answer: Answer | None = None
        self.row: int | None = None
        self.performed: Performed | None = None
        self.asked: Asked | None = None
        self.refused = ""
        self.told: tuple[str, ...] = visit.told
        self.page = "head" if visit.lacks else ""
        self.coming_off: ComingOff | None = None
        self.returned: dict[str, str] = {}
        self.serial = ""
        self.offered: Offer | None = None
        self.recordings: Path | None = None
        self._silenced: set[tuple[str, str, str]] = set()
        self._acts: dict[str, Callable[[Values], None]] = {
            "keep": self._keep,
            "answer": self._answer,
            "undo": self._undo,
            "put back": self._put_back,
            "again": self._again,
            "remark": self._remark,
            "channel": self._choose_channel,
            "condition": self._choose_condition,
            "take": self._take,
            "later": self._later,
            "add": self._add,
            "falling": self._falling,
            "once more": self._once_more,
            "last check": self._last_check,
            "head": self._head,
            "serial": self._serial,
            "page": self._open_page,
            "take recording": self._take_recording,
            "leave recording": self._leave_recording,
            "listen": self._listen,
        }

    def do(self, act: str, **values: Any) -> None:
        """Do one act of a person; what cannot be done is said in ``refused``, and nothing is half done."""
        self.refused, self.told, self.returned = "", (), {}
        found = self._acts.get(act)
        if found is None:
            self.refused = f"There is no act '{act}'."
            return
        try:
            found(values)
        except (Refused, OSError) as error:
            self.refused = in_words(error)
            if act == "keep":
                self.returned = {name: str(values.get(name, "")) for name in ("level", "output")}

    def look(self) -> bool:
        """Look at the files and at who else is there; return whether there is anything new to show."""
        before = self.visit.table.text
        kept = self.visit.table.settle()
        self.told = kept.told
        return bool(kept.told) or self.visit.table.text != before

    @property
    def open(self) -> tuple[Step, ...]:
        """The steps of the channel that are left."""
        return tuple(step for step in self.visit.open_steps(self.condition) if step.channel == self.channel)

    @property
    def step(self) -> Step | None:
        """What is to be read next: what was chosen, else the first that is left."""
        return self.chosen or next(iter(self.open), None)

    def _first_channel(self) -> str:
        open_ = self.visit.open_steps(self.condition)
        return open_[0].channel if open_ else self.visit.channels[0]

    def _keep(self, values: Values) -> None:
        step = self.step
        if self.asked is not None:
            raise NotDone("Answer the question first; what was typed is still there.")
        if step is None:
            raise NotDone("No step is left; choose another channel, or add a reading (Steps).")
        if self.visit.lacks:
            self.page = "head"
            raise NotDone("State first who reads, and with what: the visit's file wants it.")
        kept, answer = self.visit.enter(cells_of(step, values, serial=self.serial), step=step)
        self.chosen, self.page, self.serial = None, "", ""
        self._show(kept, answer, step)

    def _show(self, kept: Kept, answer: Answer, step: Step | None) -> None:
        """Answer a reading that was kept."""
        reading = answer.reading
        self.answer, self.row, self.told = answer, kept.row, kept.told
        key = (reading.channel, reading.condition, reading.test)
        self.performed = self.visit.performed(reading.channel, reading.condition, reading.test)
        self.asked = ask(answer, step=step, silenced=key in self._silenced)

    def _answer(self, values: Values) -> None:
        asked = self.asked
        letter = str(values.get("letter", "")).upper()
        choice = None if asked is None else next((item for item in asked.choices if item.letter == letter), None)
        if asked is None or choice is None:
            raise NotDone("There is no such answer to choose.")
        reading = asked.answer.reading
        if choice.act == MEANT:
            self.asked = None
            entered = write_meant(asked, self.visit)
            if entered is not None:
                self._show(*entered, None)
        elif choice.act == AGAIN:
            self._strike(reading, "read again: it was asked about")
        elif choice.act == AS_READ:
            self._note(reading.row, CONFIRMED)
        elif choice.act == CHANNEL:
            self._silenced.add((reading.channel, reading.condition, reading.test))
            self._note(reading.row, CONFIRMED)
        if choice.act != MEANT:
            self.asked = None
            self.performed = self.visit.performed(reading.channel, reading.condition, reading.test)

    def _strike(self, reading: Reading, reason: str) -> None:
        """Keep a reading with the reason why it does not count, and take its step next."""
        self.visit.table.change(reading.row, "exclude", reason)
        fits = [step for step in self.open if step.test == reading.test and step.row is None]
        near = [s for s in fits if s.frequency_hz == reading.frequency_hz and s.level is not None]
        again = min(near, key=lambda s: abs((s.level or 0.0) - reading.applied), default=None)
        asked = self.asked.step if self.asked is not None else None
        self.chosen = asked or again or retaken_step(reading)

    def _note(self, row: int, text: str) -> None:
        there = self.visit.table.text.cells(row).get("note", "")
        self.visit.table.change(row, "note", f"{there}; {text}" if there and text else there or text)

    def _undo(self, _: Values) -> None:
        """Take the last reading back that counts: its row stays, struck through."""
        entered = [event["row"] for event in self.visit.table.events if event["do"] == "enter"]
        for cells in reversed(entered):
            row = self.visit.table.row_of(cells)
            reading = None if row is None else self.visit.reading_at(row)
            if reading is not None and reading.exclude is None:
                self.visit.table.change(reading.row, "exclude", f"taken back at {self.visit.now():%H:%M:%S}")
                self.asked, self.answer, self.chosen = None, None, None
                self.channel, self.condition = reading.channel, reading.condition
                self.returned = {"level": cells["applied"], "output": ""}
                self.told = (f"Row {reading.row} was taken back; it stays, struck through.",)
                return
        raise NotDone("Nothing entered at this screen is left to take back.")

    def _put_back(self, values: Values) -> None:
        reading = self._reading(values)
        self.visit.table.change(reading.row, "exclude", "")
        self.told = (f"Row {reading.row} counts again.",)

    def _again(self, values: Values) -> None:
        reading = self._reading(values)
        reason = str(values.get("reason", "")).strip()
        if not reason:
            raise NotDone("Give the reason why it is read again: the first row stays with it.")
        self._strike(reading, reason)
        self.asked, self.page = None, ""

    def _remark(self, values: Values) -> None:
        reading = self._reading(values)
        text = str(values.get("text", "")).strip()
        if not text:
            raise NotDone("Type the remark first.")
        self._note(reading.row, text)
        self.page = ""
        self.told = (f"The remark stands in row {reading.row}.",)

    def _reading(self, values: Values) -> Reading:
        row = int(values.get("row") or self.row or 0)
        reading = self.visit.reading_at(row)
        if reading is None:
            raise NotDone("There is no reading there; enter one first.")
        return reading

    def _choose_channel(self, values: Values) -> None:
        tag = str(values.get("tag", ""))
        if tag not in self.visit.channels:
            raise NotDone(f"There is no channel '{tag}' here.")
        self._unasked()
        self.channel, self.chosen, self.page = tag, None, ""
        self.answer, self.performed, self.coming_off = None, None, None

    def _choose_condition(self, values: Values) -> None:
        name = str(values.get("name", ""))
        if name not in CONDITIONS:
            raise NotDone(f"There is no condition '{name}'.")
        self._unasked()
        self.condition, self.chosen, self.answer, self.performed = name, None, None, None

    def _unasked(self) -> None:
        if self.asked is not None:
            raise NotDone("Answer the question first.")

    def _take(self, values: Values) -> None:
        number = int(values.get("number", -1))
        steps = self.open
        if not 0 <= number < len(steps):
            raise NotDone("That step is no longer open.")
        self._unasked()
        self.chosen, self.page = steps[number], ""

    def _later(self, _: Values) -> None:
        self._unasked()
        if self.step is not None:
            self.visit.later.append(self.step)
        self.chosen = None

    def _add(self, values: Values) -> None:
        test = str(values.get("test", ""))
        if test not in TESTS:
            raise NotDone("Choose the test that the reading is of.")
        channel = self.visit.base.asset.channel(self.channel, self.condition)
        added = added_step(channel, self.condition, test=test, values=values)
        self._unasked()
        self.visit.added.append(added)
        self.chosen, self.page = added, ""

    def _falling(self, _: Values) -> None:
        self._append(falling_steps(self.visit.steps(self.condition), channel=self.channel))

    def _once_more(self, values: Values) -> None:
        test = str(values.get("test", ""))
        self._append(repeated_steps(self.visit.steps(self.condition), channel=self.channel, test=test))

    def _last_check(self, _: Values) -> None:
        channel = self.visit.base.asset.channel(self.channel, self.condition)
        own = [r for r in self.visit.readings if (r.channel, r.condition) == (self.channel, self.condition)]
        self._append(tuple(check.step for check in last_checks(channel, own)))

    def _append(self, steps: tuple[Step, ...]) -> None:
        self._unasked()
        new = [step for step in steps if step not in self.visit.added]
        if not new:
            raise NotDone("There is nothing to add here; it is among the steps already, or nothing was read yet.")
        self.visit.added += new
        self.chosen, self.page = None, ""
        self.told = (f"{len(new)} {'step' if len(new) == 1 else 'steps'} added.",)

    def _head(self, values: Values) -> None:
        self.visit.state_head(head_values(values, by=self.visit.base.visit.performed_by, channels=self.visit.channels))
        self.page = ""
        self.told = ("The visit's file states it now.",)

    def _serial(self, values: Values) -> None:
        read = str(values.get("text", "")).strip()
        if not read:
            raise NotDone("Scan or type the serial first.")
        stated = self.visit.serial_of(self.channel, self.condition)
        self.serial, self.page = read, ""
        if stated is None:
            self.told = (f"The next reading's remark names sensor {read}; asset.toml states no serial for it.",)
        elif stated == read:
            self.told = (f"Sensor {read} is the one that asset.toml has on {self.channel}.",)
        else:
            self.told = (
                f"asset.toml has sensor {stated} on {self.channel}, and {read} is on the shaker. Is it the right "
                "one? Where it was exchanged, state that in asset.toml; the next reading's remark names it.",
            )

    def offer(self, path: Path) -> bool:
        """Offer a recording that came as the reading of the step; return whether there is anything new to show."""
        step = self.step
        if not is_recording(path) or step is None:
            return False
        try:
            self.offered = offer_recording(path, step, serial=self.serial)
        except (Refused, OSError) as error:
            self.told = (why_not(path, error),)
        return True

    def _take_recording(self, _: Values) -> None:
        offer = self.offered
        if offer is None:
            raise NotDone("No recording is offered.")
        self._unasked()
        kept, answer = self.visit.enter(offer.cells, step=offer.step)
        self.offered, self.chosen, self.serial = None, None, ""
        self._show(kept, answer, offer.step)

    def _leave_recording(self, _: Values) -> None:
        self.offered = None

    def _listen(self, _: Values) -> None:
        if self.recordings is None:
            raise NotDone("Name a folder in the parameter recordings first: what is heard is kept there.")
        hz = self.step.frequency_hz if self.step is not None else 0.0
        path = listen(self.recordings, frequency_hz=hz, now=self.visit.now())
        self.told = (f"Heard and kept as {path.name}.",)

    def _open_page(self, values: Values) -> None:
        self.page = str(values.get("name", ""))
        self.coming_off = self.visit.coming_off(self.channel, self.condition) if self.page == "coming off" else None
