"""The reviewer's desk: the queue as a list, the record that is chosen, and the decision on it, all by keyboard.

Arrow keys go through the list, Tab to the words and the buttons, Enter or the space bar presses them. Each record keeps
the words that were typed for it until a decision is made. The key stays where it is: ssh-keygen signs on this machine,
by the key's file or, for its public half, by an agent.
"""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Any

from vibcal_nb.notebook.review import OpenedQueue, read_queue
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.show.show_review import item_html, queue_line
from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.review.decide import Reviewer, accept, give_back, rule_of
from vibcal_nb.records.review.queue import ReviewItem
from vibcal_nb.records.review.seen import note_seen

_NAME = {"description_width": "80px"}


class ReviewDesk:
    """The widgets of the desk; ``widget`` is what is displayed, ``opened`` the queue as it is now."""

    def __init__(self, opened: OpenedQueue) -> None:
        import ipywidgets as widgets  # only where a person explores

        self.opened = opened
        self.words: dict[str, str] = {}

        def text(name: str, value: str = "", hint: str = "", **layout: str) -> Any:
            # sent whole when it is left: while one types, a button would overtake the last letters
            return widgets.Text(
                value=value, description=name, placeholder=hint, layout=layout, style=_NAME, continuous_update=False
            )

        def button(name: str, tooltip: str) -> Any:
            return widgets.Button(description=name, tooltip=tooltip, layout={"width": "auto"})

        self.name = text("your name", opened.reviewer)
        self.key = text("your key", opened.key, "file, or .pub with an agent")
        self.queue = widgets.Select(description="queue", rows=10, layout={"width": "100%"}, style=_NAME)
        self.said = text("words", hint="remark, or why it is returned", width="100%")
        self.accept = button("Accept", "Sign this record off with these words")
        self.give_back = button("Return", "Return this record with these words as the reason")
        self.accept_passing = button(
            "Accept all that pass", "Sign off each open record that passes, with its own words"
        )
        self.done, self.shown = widgets.HTML(), widgets.HTML()
        self.accept.on_click(lambda _: self._decide([self.chosen], accept))
        self.give_back.on_click(lambda _: self._decide([self.chosen], give_back))
        self.accept_passing.on_click(lambda _: self._decide(self._passing(), accept))
        self.said.observe(self._keep_words, names="value")
        self._fill()
        self.queue.observe(lambda _: self._open(), names="value")
        buttons = widgets.HBox([self.accept, self.give_back, self.accept_passing], layout={"flex_flow": "row wrap"})
        who = widgets.HBox([self.name, self.key], layout={"flex_flow": "row wrap"})
        self.widget = widgets.VBox([who, self.queue, self.said, buttons, self.done, self.shown])
        self._open()

    @property
    def chosen(self) -> ReviewItem | None:
        """The record that is chosen in the list."""
        return next((item for item in self.opened.items if item.place == self.queue.value), None)

    def _passing(self) -> list[ReviewItem | None]:
        return [item for item in self.opened.items if item.passes and item.is_open]

    def _fill(self) -> None:
        before = self.queue.value
        self.queue.options = [(queue_line(item), item.place) for item in self.opened.items]
        due = [item.place for item in self.opened.items if item.is_open]
        places = due or [item.place for item in self.opened.items]
        if places:
            self.queue.value = before if before in due else places[0]

    def _keep_words(self, change: dict[str, Any]) -> None:
        if self.queue.value is not None:
            self.words[self.queue.value] = str(change["new"])

    def _open(self) -> None:
        item = self.chosen
        if item is None:
            return
        self.said.value = self.words.get(item.place, "")
        self.shown.value = item_html(self.opened, item)
        if item.seal and self.name.value.strip():
            try:
                note_seen(item.root, self.name.value, {item.place: item.seal})
            except OSError:
                self.done.value = "What you have seen could not be noted: the folder cannot be written to."

    def _decide(self, items: list[ReviewItem | None], how: Any) -> None:
        """Decide on records, each with its own words; what cannot be decided is said, and the others are done."""
        key = self.key.value.strip()
        lines = []
        try:
            rule = rule_of(self.opened.site)
            reviewer = Reviewer(name=self.name.value, key=Path(key).expanduser() if key else None, rule=rule)
            for item in items:
                if item is not None:
                    lines.append(self._decided(item, reviewer, how))
        except (Refused, OSError) as error:
            lines.append(in_words(error))
        if self.opened.is_of_records:
            own = self.opened
            self.opened = read_queue(own.folder, reviewer=own.reviewer, key=own.key, site=own.site)
            self._fill()
            self._open()
        self.done.value = "<br>".join(map(escape, lines or ["There is nothing to decide."]))

    def _decided(self, item: ReviewItem, reviewer: Reviewer, how: Any) -> str:
        if not item.seal:
            return f"{item.name}: there is no record of it; run makes one."
        try:
            path = how(item, reviewer, self.words.get(item.place, ""))
        except Refused as refused:
            return str(refused)
        self.words.pop(item.place, None)
        done = "signed off" if how is accept else "returned"
        return f"{item.name}: {done}{', with a signature' if reviewer.key else ', typed and unsigned'} ({path.name})."


def decide(opened: OpenedQueue) -> None:
    """Show the desk; in a record, one line that says where it is."""
    text = "The desk appears when the notebook is opened and run: choose a record, read it, accept or return it."
    show.widget(lambda: ReviewDesk(opened).widget, otherwise=text)
