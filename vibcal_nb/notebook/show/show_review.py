"""What the review's cells call to show something: one call, one display."""

from __future__ import annotations

from html import escape

from vibcal_nb.display.card.card import card_html, card_of
from vibcal_nb.display.results.figures import result_picture
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import plural
from vibcal_nb.notebook.review import OpenedQueue
from vibcal_nb.notebook.show import show
from vibcal_nb.records.review.queue import WORDS, ReviewItem, Standing
from vibcal_nb.records.seal.inert_html import inert_html
from vibcal_nb.records.seal.page import joined

MOST = 60
_NO_RECORDS = "These are readings, and no records: nobody can decide on them. Run them first."


def answer(queue: OpenedQueue) -> None:
    """Show how many records stand where, and which comes first."""
    counts = [(standing, sum(item.standing is standing for item in queue.items)) for standing in Standing]
    said = ", ".join(f"{count} {WORDS[standing]}" for standing, count in counts if count)
    what = plural(len(queue.items), "record" if queue.is_of_records else "result")
    first = queue.items[0] if queue.items else None
    lead = "" if first is None else f"First: {first.name}: {first.reasons[0]}."
    note = "" if queue.is_of_records else _NO_RECORDS
    text = f"{what}: {said}. {lead} {note}".strip()
    chip = "" if first is None else chip_html(first.verdict)
    show.html(f"<p><b>{what}</b>: {said}.</p><p>{chip} {escape(lead)}</p>" + (f"<p>{note}</p>" if note else ""), text)


def queue(opened: OpenedQueue) -> None:
    """Show the queue, the most urgent first."""
    rows = "".join(_row(item) for item in opened.items[:MOST])
    more = len(opened.items) - MOST
    html = (
        '<table><thead><tr><th scope="col">record</th><th scope="col">verdict</th><th scope="col">stands here because'
        f"</th></tr></thead><tbody>{rows}</tbody></table>" + (f"<p>... and {more} more</p>" if more > 0 else "")
    )
    show.html(html, "\n".join(queue_line(item) for item in opened.items[:MOST]))


def _row(item: ReviewItem) -> str:
    left = 'style="text-align: left"'
    why = "<br>".join(escape(text) for text in (*item.reasons, *(f"changed: {text}" for text in item.changed[:3])))
    name, chip = escape(item.name), chip_html(item.verdict)
    return f'<tr><th scope="row" {left}>{name}</th><td>{chip}</td><td {left}>{why}</td></tr>'


def queue_line(item: ReviewItem) -> str:
    """Return an item on one line: its verdict, its name, where it stands."""
    return f"{item.verdict}: {item.name} ({WORDS[item.standing]})"


def first(opened: OpenedQueue) -> None:
    """Show the first of the queue: its card and its figure."""
    item = opened.items[0]
    show.html(item_html(opened, item), f"{item.name}: {item.verdict}. {item.statement}")


def item_html(opened: OpenedQueue, item: ReviewItem) -> str:
    """Return the card and the figure of an item, what changed, and who decided on it."""
    result = opened.results.get(item.place)
    if result is not None:
        shown = f"{card_html(card_of(result))}{result_picture(result).to_html()}"
    else:
        shown = "".join(_shown_in(item)) or f"<p>{escape(item.statement)}</p>"
    said = [
        *item.reasons,
        *(f"changed: {text}" for text in item.changed),
        *(f"signed off by {s.who}" for s in item.signoffs),
    ]
    seal = f"<p>Seal <code>{escape(item.seal[:16])}…</code>, revision {item.revision}.</p>" if item.seal else ""
    return shown + "<ul>" + "".join(f"<li>{escape(text)}</li>" for text in dict.fromkeys(said)) + f"</ul>{seal}"


def _shown_in(item: ReviewItem) -> list[str]:
    """The card and the first figure that a record holds; what it holds is a file's, and loses whatever acts."""
    found: list[str] = []
    for cell in item.notebook["cells"] if item.notebook is not None else ():
        if cell["cell_type"] != "code" or len(found) > 1:
            continue
        for output in cell.get("outputs", ()):
            html = joined(output.get("data", {}).get("text/html", ""))
            if html and (cell.get("id") == "answer" or "<img" in html or "<figure" in html):
                found.append(inert_html(html))
    return found[:2]
