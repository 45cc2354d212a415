"""A channel's life: what the files say happened is what is told, in tables, in one figure and on a page."""

from __future__ import annotations

from datetime import date

import pytest

from tests.support.kept.channel_report import keep_results
from tests.support.places import DEMO
from vibcal_nb.analysis.life.channel_life import (
    ADJUSTMENT,
    EXCHANGE,
    RUN_OUT,
    ChannelLife,
    LifeVisit,
    UsedItem,
    VisitedTest,
)
from vibcal_nb.display.life.life_plots import life_picture
from vibcal_nb.display.life.life_tables import answer_sentence, events_table, set_points_table, visits_table
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.names import BAND_RESPONSE, CHANNEL_VERDICT, DRIFT, SENSOR_ALONE
from vibcal_nb.model.site.site_facts import ReviewRule
from vibcal_nb.problems import NothingToAnalyse
from vibcal_nb.records.life.gather_life import gather_life
from vibcal_nb.records.life.life_page import life_page
from vibcal_nb.records.review.decide import Reviewer, accept, give_back
from vibcal_nb.records.review.queue import list_queue
from vibcal_nb.running.commands.cli import main

VISIT = DEMO / "BFP-2" / "2026-04-21"


def visit(day, *, verdicts=("pass",), sensor="S-1", due="2099-01-01"):
    conditions = ("as-found", "as-left")
    return LifeVisit(
        day=date.fromisoformat(day),
        name=day,
        performed_by="Technician A",
        tests=tuple(
            VisitedTest(test="linearity", condition=condition, verdict=verdict, statement="")
            for condition, verdict in zip(conditions, verdicts, strict=False)
        ),
        items={"sensor": sensor},
        equipment=(UsedItem(id="REF", serial="R-1", due=date.fromisoformat(due)),),
    )


def life_of(*visits):
    return ChannelLife(asset="A", channel="T", unit="mm/s pk", visits=visits, drift=None, why_no_drift="two visits")


def test_an_exchange_lies_between_the_visits_that_saw_either_item():
    life = life_of(visit("2024-05-01"), visit("2025-05-01", sensor="S-2"), visit("2026-05-01", sensor="S-2"))
    (event,) = life.events
    assert (event.kind, event.day) == (EXCHANGE, date(2025, 5, 1))
    assert event.said == "sensor S-1 exchanged for S-2, after the visit of 2024-05-01"


def test_what_was_read_as_found_and_as_left_is_told_with_both_verdicts():
    (event,) = life_of(visit("2025-05-01", verdicts=("fail", "pass"))).events
    assert (event.kind, event.said) == (ADJUSTMENT, "linearity: fail as found, pass as left")


def test_a_certificate_that_had_run_out_is_told():
    (event,) = life_of(visit("2025-05-01", due="2025-04-30")).events
    assert event.kind == RUN_OUT
    assert life_of(visit("2025-05-01", due="2025-05-01")).events == ()


def test_the_answer_names_when_it_did_not_pass():
    life = life_of(visit("2024-05-01", verdicts=("fail", "pass")), visit("2025-05-01"))
    assert answer_sentence(life) == (
        "T of A: pass on 2025-05-01. 2 visits since 2024-05-01; as found it did not pass on 2024-05-01; 0 exchanges."
    )
    picture = life_picture(life)
    assert "two visits" in picture.svg
    assert "2025" in picture.svg
    assert answer_sentence(life) in picture.text


@pytest.fixture(scope="module")
def life(tmp_path_factory):
    """The life of a demo channel, two of its latest records decided on."""
    records = tmp_path_factory.mktemp("life") / "records"
    out = records / "BFP-2" / "2026-04-21"
    left_out = (DRIFT, CHANNEL_VERDICT, BAND_RESPONSE, SENSOR_ALONE)
    keep_results(load_visit(VISIT), out, channel="BFP-2-A11", without=left_out)
    reviewer = Reviewer(name="Engineer D", key=None, rule=ReviewRule())
    first, second, *_ = list_queue([records], {})
    accept(first, reviewer, "seen")
    give_back(second, reviewer, "wrong day")
    return gather_life(VISIT, channel="BFP-2-A11", records=records)


def test_a_demo_channel_has_its_visits_set_points_and_decisions(life):
    assert [str(visit.day) for visit in life.visits] == ["2024-04-23", "2025-05-13", "2026-04-21"]
    assert {item.name for item in life.visits[-1].set_points} == {"alert", "trip"}
    said = visits_table(life).to_text()
    assert "signed off by Engineer D" in said
    assert "returned by Engineer D" in said
    assert "trip" in set_points_table(life).to_text()
    assert events_table(life).headings == ("day", "what", "in words")


def test_the_page_needs_nothing_else(life):
    page = life_page(life)
    assert "default-src 'none'" in page
    assert "<script" not in page
    assert 'src="http' not in page
    assert "BFP-2-A11 over the years" in page


def test_a_channel_without_readings_is_a_sentence(tmp_path, capsys):
    with pytest.raises(NothingToAnalyse):
        gather_life(VISIT, channel="BFP-2-NONE")
    assert main(["channel-history", str(VISIT), "--channel", "X", "--records", str(tmp_path / "none")]) == 2
    assert "no such folder" in capsys.readouterr().err
