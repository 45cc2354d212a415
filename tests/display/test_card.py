"""The card of a result: the answer, what it rests on, and what to do."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from tests.support.places import DEMO
from tests.support.sites.examples import example_of
from vibcal_nb.display.card.card import MOST_QUANTITIES, MOST_STEPS, card_html, card_of, card_text
from vibcal_nb.display.card.card_parts import Quantity, off, symmetric
from vibcal_nb.display.style import PAPER, VERDICT_LOOKS
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.conformity.conformance_probability import ToleranceLimits
from vibcal_nb.metrology.conformity.decision import DecisionRule, decide
from vibcal_nb.metrology.uncertainty.coverage import expand
from vibcal_nb.records.analyses import ANALYSES, analysis_named


def card(analysis, channel="STG-1-V12"):
    visit, own = example_of(analysis, channel)
    return card_of(analysis_named(analysis).perform(visit, channel=own, condition="as-found"))


@pytest.mark.parametrize("analysis", ANALYSES)
def test_it_names_tag_test_condition_visit_and_place(analysis):
    found = card(analysis)
    visit, channel = example_of(analysis)
    assert found.tested == f"{channel} · {analysis.replace('-', ' ')} · as found"
    own = visit.asset.channels.get(channel)  # a group that votes is no channel
    assert (own.location if own else channel[:5]) in found.place and visit.path.name in found.place


def test_a_failing_line_is_one_plain_sentence():
    """The demo's truth: the gain of this module is 8 % low."""
    found = card("linearity")
    assert re.fullmatch(r"reads 8\.\d % low at 50 Hz", found.sentence)
    assert [item.verdict for item in found.quantities] == ["fail", "fail", "pass"]
    assert found.next_steps[0].startswith("Find which part is off")


def test_a_pass_asks_for_nothing():
    assert card("band-response").next_steps == ("Nothing.",)


def test_what_a_failure_asks_for_stands_before_what_keeps_a_pass_from_being_said_and_nothing_twice():
    """The demo's truth: this channel clips below its trip, so that no line describes it well."""
    visit = load_visit(DEMO / "STG-1" / "2025-04-29")
    line, whole = (
        card_of(analysis_named(name).perform(visit, channel="STG-1-V22", condition="as-found"))
        for name in ("linearity", "channel-verdict")
    )
    assert line.next_steps[0].startswith("Find which part is off")
    assert line.next_steps[-1].startswith("Measure with a smaller uncertainty")
    assert whole.next_steps[0].startswith("Do not rely on the trip")
    assert sum("smaller uncertainty" in step for step in whole.next_steps) == 1


def test_a_channel_says_where_its_trip_comes():
    found = card("channel-verdict")
    assert re.search(r"trip, set at 18, comes at a true 19\.\d mm/s pk at 50 Hz", found.sentence)
    assert {item.state for item in found.quantities if item.state} == {"demonstrated"}


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.seen, self.texts = [], []

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.texts.append(data)


@pytest.mark.parametrize("analysis", ANALYSES)
def test_its_html_is_one_heading_a_table_with_scopes_and_no_script(analysis):
    tags = Tags()
    tags.feed(card_html(card(analysis)))
    names = [tag for tag, _ in tags.seen]
    assert names.count("h1") == 1 and "script" not in names and "style" not in names
    assert all(attrs.get("scope") in ("row", "col") for tag, attrs in tags.seen if tag == "th")
    assert all(attrs.get("alt") == "" for tag, attrs in tags.seen if tag == "img")
    said = " ".join(tags.texts)
    assert all(item.name in said for item in card(analysis).quantities)


def folded(html):
    """What of a card's HTML stands unfolded, and what is folded, without the summaries."""
    inside = re.findall(r"<details><summary>.*?</summary>(.*?)</details>", html)
    return re.sub(r"<details>.*?</details>", "", html), "".join(inside)


def test_of_much_to_do_the_first_steps_stand_unfolded_and_none_is_lost():
    steps = tuple(f"Step {number}." for number in range(9))
    unfolded, inside = folded(card_html(replace(card("linearity"), next_steps=steps)))
    assert re.findall(r"Step \d", unfolded) == [f"Step {number}" for number in range(MOST_STEPS)]
    assert re.findall(r"Step \d", inside) == [f"Step {number}" for number in range(MOST_STEPS, 9)]


@pytest.mark.parametrize("failing", [0, 11, 19])
def test_of_many_judged_quantities_what_fails_stands_unfolded_and_none_is_lost(failing):
    judged = [
        Quantity(name=f"q{n:02}", value="", limit="", decision=None, mark="fail" if n == failing else "pass")
        for n in range(20)
    ]
    silent = replace(judged[15], mark="not verified", state="does not act")
    many = (*judged[:15], silent, *judged[16:])
    html = card_html(replace(card("linearity"), quantities=many))
    unfolded, inside = folded(html)
    shown, hidden = re.findall(r"q\d\d", unfolded), re.findall(r"q\d\d", inside)
    assert len(shown) == MOST_QUANTITIES and {f"q{failing:02}", "q15"} <= set(shown)
    assert shown == sorted(shown) and sorted(shown + hidden) == [item.name for item in many]
    assert f"{20 - MOST_QUANTITIES} more: {20 - MOST_QUANTITIES} pass" in html


def test_its_text_says_the_same():
    text = card_text(card("linearity"))
    assert "✗ fail: reads 8." in text and "To do: Find which part" in text


@pytest.mark.parametrize(
    ("lower", "upper", "text"),
    [(-5.0, 5.0, "± 5 %"), (63.1, 79.4, "63.1 to 79.4 %"), (None, 2.0, "at most 2 %"), (-4.0, None, "at least −4 %")],
)
def test_limits_are_written_as_short_as_they_can_be(lower, upper, text):
    decision = decide(1.0, expand(0.1), ToleranceLimits(lower=lower, upper=upper), DecisionRule())
    assert symmetric(decision) == text


@pytest.mark.parametrize(("value", "text"), [(-8.24, "8.2 % low"), (3.0, "3.0 % high"), (0.01, "as nominal")])
def test_how_far_something_is_off(value, text):
    assert off(value) == text


def luminance(colour):
    """Relative luminance of WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("look", VERDICT_LOOKS.values(), ids=VERDICT_LOOKS)
def test_a_chip_has_the_contrast_of_wcag_on_its_own_ground(look):
    light, dark = sorted((luminance(look.colour), luminance(PAPER)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5
