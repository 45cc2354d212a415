"""The pages that records have: how much is to be read, how soon the answer comes, what a narrow screen and paper show.

Pages are made from the outputs that the notebooks store, and of the demo's channels that have most to say. What a
reader of a page meets first, and how many words it has, are the project's own limits; contrast and headings follow
WCAG 2.2.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from tests.support.running.stored_cells import page_of_cells, page_of_stored

MOST_WORDS = {
    "linearity": 900,
    "band_response": 1100,
    "sensor_alone": 1000,
    "channel_verdict": 1100,
    "drift_and_interval": 1400,
    "site_overview": 1100,
}
MOST_BYTES = 200_000
# the demo's truth: a loose mounting, a channel that clips below its trip, a sensor exchanged after a fault
MUCH_TO_SAY = (
    ("linearity", "BFP-2/2024-04-23", "BFP-2-A12"),
    ("linearity", "STG-1/2025-04-29", "STG-1-V22"),
    ("band_response", "BFP-2/2024-04-23", "BFP-2-A12"),
    ("channel_verdict", "BFP-2/2024-04-23", "BFP-2-A12"),
    ("channel_verdict", "STG-1/2025-04-29", "STG-1-V22"),
    ("drift_and_interval", "BFP-2/2026-04-21", "BFP-2-A21"),
)


def _named(case):
    return "-".join(case).replace("/", "-")


@pytest.fixture(scope="module", params=[*((name,) for name in MOST_WORDS), *MUCH_TO_SAY], ids=_named)
def page(request, tmp_path_factory):
    """The name of a notebook and the page of a record with the outputs that it stores, or has for a channel."""
    name, *of = request.param
    path = tmp_path_factory.mktemp("page") / f"{name}.html"
    path.write_bytes(page_of_cells(name, visit=of[0], channel=of[1]) if of else page_of_stored(name))
    return name, path


class Reader(HTMLParser):
    """Gathers what a reader meets: words that are not folded away, headings, and headings of tables without a scope."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.headings: list[str] = []
        self.without_scope = 0
        self.pictures_without_text = 0
        self._open: list[str] = []

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag not in ("br", "hr", "img", "meta", "link"):
            self._open.append(tag)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(tag)
        self.without_scope += tag == "th" and given.get("scope") not in ("col", "row")
        self.pictures_without_text += tag == "img" and given.get("alt") is None

    def handle_endtag(self, tag):
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data):
        folded = "details" in self._open and "summary" not in self._open
        if not folded and not {"style", "title"} & set(self._open):
            self.words += data.split()


def read(path):
    reader = Reader()
    reader.feed(path.read_text(encoding="utf-8"))
    return reader


def test_a_reader_counts_what_is_not_folded(tmp_path):
    (tmp_path / "x.html").write_text(
        "<h1>One two</h1><details><summary>three</summary>four</details><th>five", encoding="utf-8"
    )
    found = read(tmp_path / "x.html")
    assert (found.words, found.headings, found.without_scope) == (["One", "two", "three", "five"], ["h1"], 1)


def test_a_page_is_short_and_small(page):
    name, path = page
    assert len(read(path).words) <= MOST_WORDS[name]
    assert path.stat().st_size <= MOST_BYTES


def test_headings_tables_and_pictures_say_what_they_are(page):
    found = read(page[1])
    assert found.headings.count("h1") == 1
    assert found.headings[0] == "h1"
    assert found.without_scope == 0
    assert found.pictures_without_text == 0


@pytest.fixture(scope="module")
def browser():
    from tests.browser.lab import running_browser

    with running_browser() as new_page:
        yield new_page


@pytest.mark.browser
@pytest.mark.parametrize("width", [1440, 1024])
def test_verdict_reason_and_next_step_stand_within_the_first_800_pixels(page, browser, width):
    view = browser()
    view.set_viewport_size({"width": width, "height": 800})
    view.goto(page[1].as_uri())
    assert view.locator(".answer").bounding_box()["y"] >= 0
    end = view.evaluate("document.querySelector('.answer').getBoundingClientRect().bottom")
    assert end <= 800
    view.close()


@pytest.mark.browser
def test_a_narrow_screen_shows_the_verdict_and_never_scrolls_sideways(page, browser):
    view = browser()
    view.set_viewport_size({"width": 390, "height": 844})
    view.goto(page[1].as_uri())
    assert view.evaluate("document.documentElement.scrollWidth") <= 390
    assert view.evaluate("document.querySelector('.answer li, .answer b').getBoundingClientRect().bottom") <= 800
    view.close()


@pytest.mark.browser
def test_paper_shows_what_a_screen_folds(page, browser):
    view = browser()
    view.goto(page[1].as_uri())
    view.emulate_media(media="print")
    heights = view.evaluate(
        "Array.from(document.querySelectorAll('details')).map(d => d.lastElementChild.getBoundingClientRect().height)"
    )
    assert heights and all(height > 0 for height in heights)
    view.close()
