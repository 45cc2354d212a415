"""A site as a map: what fails comes first, every channel is a cell that leads to its record, many machines fold."""

from __future__ import annotations

import re
from datetime import date

import pytest

from tests.support.sites.site_order import result
from vibcal_nb.analysis.site.site_overview import overview_of
from vibcal_nb.display.site.site_answer import MOST_FAILING, ONCE, site_answer_html, site_answer_text
from vibcal_nb.display.site.site_map import OPEN, in_train_order, site_map_html
from vibcal_nb.display.site.site_tables import URGENCY_WORDS, actions_html, site_sentence
from vibcal_nb.display.site.timeline_plots import timeline_picture
from vibcal_nb.records.seal.inert_html import inert_html

ON = date(2026, 6, 1)


def channel(tag, *, asset="STG-1", verdict="pass", day=10, location="Front bearing, vertical"):
    record = f"{asset}/2026-05-{day}/{asset}-{tag}/linearity.as-found.ipynb"
    plain = result(day, "as-found")
    return plain._replace(
        asset=asset, channel=f"{asset}-{tag}", verdict=verdict, record=record, location=location, margin_pct=50.0
    )


def site(*results):
    return overview_of(results, on=ON, interval_months=13.0)


def links(html):
    return re.findall(r'<a [^>]*href="([^"]*)"', html)


def test_what_fails_now_is_said_first_with_why_and_a_link():
    overview = site(channel("V11"), channel("V12", verdict="fail"))
    html = site_answer_html(overview)
    text = re.sub(r"<style>.*?</style>|<[^>]*>", " ", html)
    assert re.match(r"\s*Site overview, 2026-06-01\s+Fails now\s+✗&nbsp;fail\s+STG-1-V12", text)
    assert "left failing: linearity" in text
    assert links(html) == ["STG-1/2026-05-10/STG-1-V12/linearity.as-found.html"]
    assert site_answer_text(site(channel("V11"))).startswith("Nothing fails now.")


def test_many_failures_are_counted_and_not_all_named():
    overview = site(*(channel(f"V{number}", verdict="fail") for number in range(MOST_FAILING + 3)))
    html = site_answer_html(overview)
    assert len(links(html)) == MOST_FAILING
    assert "and 3 channels more, below" in html


def test_one_visit_a_channel_tells_nothing_of_change():
    assert ONCE in site_answer_text(site(channel("V11"), channel("V12")))
    assert ONCE not in site_answer_text(site(channel("V11"), channel("V11", day=20)))


def test_each_channel_is_a_cell_that_leads_to_its_record_below_its_bearing():
    overview = site(
        channel("V12", location="Front bearing, horizontal"), channel("V11"), channel("V21", location="Rear")
    )
    html = site_map_html(overview)
    assert links(html) == [f"STG-1/2026-05-10/STG-1-V{n}/linearity.as-found.html" for n in (11, 12, 21)]
    assert re.findall(r"<p>([^<]*)</p>", html) == ["Front bearing", "Rear"]
    assert "✓ V11 vertical" in html


def test_a_tag_that_no_file_can_be_called_leads_to_the_file_it_has():
    odd = channel("V11")._replace(record="STG-1/2026-05-10/V11%2FA/linearity.as-found.ipynb")
    assert links(site_map_html(site(odd))) == ["STG-1/2026-05-10/V11%252FA/linearity.as-found.html"]


@pytest.mark.parametrize("record", ["", "/etc/x.ipynb", "../x.ipynb", "a/../../x.ipynb", "http://a.example/x.ipynb"])
def test_a_path_that_leads_out_of_the_records_is_no_link_that_does(record):
    found = links(site_map_html(site(channel("V11")._replace(record=record))))
    assert not [link for link in found if re.match(r"/|\w+:|.*\.\./", link)]


def test_a_group_that_votes_stands_behind_the_bearings_and_is_no_channel():
    group = channel("TRIP", location="2oo3 of STG-1-V11, STG-1-V12, STG-1-V21")._replace(analysis="voting")
    overview = site(group, channel("V12", location="Front bearing, horizontal"), channel("V11"))
    html = site_map_html(overview)
    assert re.findall(r"<p>([^<]*)</p>", html) == ["Front bearing", "groups that vote"]
    assert "✓ TRIP 2oo3</a>" in html
    assert "STG-1: 2 channels and 1 group that votes, nothing to do" in html
    late = overview_of([group, channel("V11")], on=date(2028, 1, 1), interval_months=13.0)
    assert "Overdue for a visit: 1 channel and 1 group that votes" in site_answer_text(late)
    assert "1 channel and 1 group that votes" in site_sentence(late)


def test_tags_are_in_the_order_in_which_people_count():
    assert sorted(["V10", "V9", "A1-2", "A1-10"], key=in_train_order) == ["A1-2", "A1-10", "V9", "V10"]


def test_machines_beyond_the_first_are_folded_and_all_are_there():
    overview = site(*(channel("V1", asset=f"M-{number}") for number in range(OPEN + 5)))
    html = site_map_html(overview)
    assert html.count("<details>") == 5
    assert len(links(html)) == OPEN + 5


def test_what_is_to_be_done_names_its_urgency_in_a_word_and_leads_to_records():
    html = actions_html(site(channel("V12", verdict="fail")))
    assert "<b>now</b>" in html
    assert links(html) == ["STG-1/2026-05-10/STG-1-V12/linearity.as-found.html"]
    assert len(set(URGENCY_WORDS.values())) == len(URGENCY_WORDS) == 8


def test_the_page_keeps_every_link_of_the_map():
    html = site_map_html(site(channel("V11"), channel("V12")))
    kept = inert_html(html)
    assert links(kept) == links(html)
    assert "<style>" in kept


def test_the_timeline_says_what_is_overdue():
    late = overview_of([channel("V11")], on=date(2028, 1, 1), interval_months=13.0)
    assert "Overdue for a visit: STG-1." in timeline_picture(late).text
    assert "Overdue for a visit: none." in timeline_picture(site(channel("V11"))).text
