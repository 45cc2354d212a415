"""The verdict on whole channels of the demo site and of small sites: what is said, and what is not."""

from __future__ import annotations

import json
import shutil

import pytest

from tests.support.pictures import words_in
from tests.support.places import DEMO
from tests.support.running.programs import call
from tests.support.sites.plants import ASSET, EQUIPMENT, build_site, linearity_rows
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.display.card.card import card_html, card_of
from vibcal_nb.display.channel.channel_statements import consequence_sentences, headline, next_steps, not_shown
from vibcal_nb.display.channel.tests_plots import pictured_tests
from vibcal_nb.display.results.statements import compose_statement, word_result
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused, NothingToAnalyse
from vibcal_nb.records.inputs_used.record_inputs import LookedAt
from vibcal_nb.records.perform.channel import load_channel_case
from vibcal_nb.records.quantities.result_entry import result_entry

VISITS = ("STG-1/2026-05-19", "STG-1/2025-04-29", "FDF-3/2026-05-05", "BFP-2/2026-04-21", "BFP-2/2025-05-13")


def analyse(folder, channel="STG-1-V11", condition="as-found"):
    return analyse_channel(load_channel_case(load_visit(folder), channel=channel, condition=condition))


@pytest.fixture(scope="module")
def failed():
    return analyse(DEMO / "STG-1/2026-05-19", "STG-1-V12")


def test_a_trip_out_of_reach_at_the_fast_rotor_is_not_verified_and_said_first():
    result = analyse(DEMO / "STG-1/2026-05-19", "STG-1-V32")
    assert set(result.tests.verdicts.values()) == {"pass"}
    assert result.verdict == "not verified"
    assert "not verified: trip at 149 Hz (pinion) was not reached" in headline(result)
    (gap,) = word_result(result).gaps
    assert "end at 9.04 mm/s pk, 50 % of it" in gap
    assert any("inject into the module alone" in step for step in next_steps(result))


def test_the_module_alone_covers_what_the_shaker_does_not_reach_and_the_record_says_without_what():
    result = analyse(DEMO / "STG-1/2026-05-19", "STG-1-V22")
    (trip,) = [p for p in result.reach if p.set_point == "trip" and p.frequency_hz == 149.0]
    assert (trip.status, result.verdict) == ("inferred", "pass")
    assert "without the joint and the cable" in trip.basis
    assert any("the joint and the cable" in text for text in not_shown(result))
    # true gain of the demo's channel at the pinion: sensor and module as the generator has them
    assert abs(trip.true_level / 18.0 - 1.0) < 0.02


def test_a_failed_as_found_has_a_consequence_and_no_more_than_the_readings_support(failed):
    consequence = failed.consequence
    assert failed.verdict == "fail"
    assert consequence.last_good.name == "2025-04-29"
    (error,) = consequence.errors
    # module gain 7 % low, sensor and band a little: the demo's truth
    assert error.error_pct == pytest.approx(-8.2, abs=0.1)
    assert error.least_pct < error.error_pct < error.most_pct
    text = ". ".join(consequence_sentences(failed))
    assert "it indicated 8.2 ± 1.0 % low" in text
    assert "alert at 50 Hz (turbine) at 11.98 ± 0.14 mm/s pk in place of 11" in text
    assert "do not say when since then it changed" in text
    assert "for a competent person to judge" in text


def test_the_attribution_finds_the_module_of_the_demo(failed):
    at = failed.attribution.main
    assert abs(at.sensor_pct) < at.sensor.U
    assert at.rest_pct == pytest.approx(-7.9, abs=0.2)
    assert failed.attribution.contradictions == ()


def test_what_explains_a_failure_is_named_with_its_size_and_is_no_verdict(failed):
    """The demo's truth: module gain 7 % low."""
    (step,) = [text for text in next_steps(failed) if "fault_finding.ipynb" in text]
    assert step == (
        "Likeliest explanation among the faults known here: module gain (> 80 %; worst remainder −0.2 %, its U 1.3 %), "
        "module −6.9 ± 0.4 %. A finding and not a verdict: fault_finding.ipynb draws it and says what to measure to be "
        "sure"
    )
    kept = result_entry(failed)["quantities"]["explanation"]
    assert (kept["likeliest"], kept["fits"], kept["weights"]["module gain"]) == ("module gain", True, 0.8)


def test_a_channel_whose_tests_pass_does_not_wait_for_an_explanation(monkeypatch):
    monkeypatch.setattr("vibcal_nb.analysis.channel.channel_verdict.explain_channel", None)
    result = analyse(DEMO / "STG-1/2026-05-19", "STG-1-V32")
    assert result.explanations is None
    assert result.undetermined["explanation"] == "no test on the shaker failed"


def test_each_condition_shows_what_the_visit_changed(failed):
    left = analyse(DEMO / "STG-1/2026-05-19", "STG-1-V12", "as-left")
    assert left.verdict == "pass"
    assert left.changes == failed.changes
    sensitivity, sensor = left.changes[:2]
    assert sensitivity.significant
    assert not sensor.significant
    assert sensitivity.change_pct == pytest.approx(100.0 * (0.9911 / 0.9182 - 1.0), abs=0.05)
    assert left.consequence.last_good.name == "2025-04-29"


def test_without_an_earlier_good_visit_the_readings_do_not_say_since_when(tmp_path):
    result = analyse(build_site(tmp_path, linearity_rows(gain=3.6)))
    assert result.consequence.last_good is None
    assert "No earlier visit" in " ".join(consequence_sentences(result))


@pytest.mark.parametrize("spoilt", [False, True])
def test_earlier_visits_are_looked_through_and_one_that_cannot_be_read_is_said(tmp_path, spoilt):
    certified = EQUIPMENT.replace("calibrated = 2026-01-10", "calibrated = 2024-01-10")
    visit = build_site(tmp_path, linearity_rows(gain=3.6), equipment=certified)
    for name, gain in (("2025-05-19", 4.0), ("2024-05-19", 4.0)):
        earlier = visit.parent / name
        shutil.copytree(visit, earlier)
        rows = (earlier / "readings.csv").read_text(encoding="utf-8").splitlines()[:1] + linearity_rows(gain=gain)
        (earlier / "readings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
        text = (earlier / "visit.toml").read_text(encoding="utf-8").replace("2026-05-19", name)
        (earlier / "visit.toml").write_text(text, encoding="utf-8")
    if spoilt:
        (visit.parent / "2025-05-19" / "readings.csv").write_text("nothing\n", encoding="utf-8")
        with pytest.raises(InputRefused):
            load_visit(visit.parent / "2025-05-19")
    consequence = analyse(visit).consequence
    assert consequence.last_good.name == ("2024-05-19" if spoilt else "2025-05-19")
    assert consequence.looked_at == (("the visit 2025-05-19 could not be read",) if spoilt else ())
    looked_at = LookedAt(load_visit)
    load_channel_case(load_visit(visit), channel="STG-1-V11", condition="as-found", load=looked_at.load)
    assert [path.name for path in looked_at.visits] == ["2025-05-19", "2024-05-19"][: 2 if spoilt else 1]


def test_a_table_with_only_linearity_says_what_is_known_and_what_is_missing(tmp_path):
    result = analyse(build_site(tmp_path, linearity_rows()))
    assert result.verdict == "not verified"
    assert {p.status for p in result.reach} == {"demonstrated"}
    assert "band response and sensor alone were not tested" in headline(result)
    assert "alert, set at 11, comes at a true 10.86 and trip, set at 18, comes at a true 17.78 mm/s pk" in headline(
        result
    )
    assert result.attribution is None
    assert "sensor alone was not read" in result.undetermined["attribution"]
    assert any("Take the readings of band response" in step for step in next_steps(result))


def test_a_table_with_only_sensor_alone_says_what_is_known_and_what_is_missing(tmp_path):
    rows = [f"STG-1-V11,sensor-alone,as-found,{hz},10.00,m/s2 pk,50.30,pC pk,,,," for hz in (20, 50, 80, 160, 250, 400)]
    result = analyse(build_site(tmp_path, rows))
    assert result.verdict == "not verified"
    assert result.tests.verdicts == {
        "sensor-alone": "pass",
        "linearity": "not verified",
        "band-response": "not verified",
    }
    assert all("linearity was not tested" in point.reason for point in result.reach)
    assert "Sensor alone: pass" in compose_statement(result)
    titles = [word for word in words_in(pictured_tests(result).svg) if word.endswith(", as found") or "alone" in word]
    assert [title.split(",")[0] for title in titles] == ["sensor alone"]
    assert (result.changes, result.consequence) == (None, None)


def test_a_channel_without_set_points_has_no_reach_and_can_pass(tmp_path):
    asset = ASSET[: ASSET.index("[channels.STG-1-V11.band]")].replace("alert = 11.0\ntrip = 18.0\n", "")
    result = analyse(build_site(tmp_path, linearity_rows(), asset=asset))
    assert (result.verdict, result.reach) == ("pass", ())
    assert "no alert and no trip" in result.undetermined["reach"]


def test_nothing_read_in_a_condition_is_said(tmp_path):
    folder = load_visit(build_site(tmp_path, linearity_rows()))
    with pytest.raises(NothingToAnalyse, match="holds no readings of STG-1-V11 as-left; it holds as-found"):
        load_channel_case(folder, channel="STG-1-V11", condition="as-left")
    with pytest.raises(NothingToAnalyse, match="its channels are STG-1-V11"):
        load_channel_case(folder, channel="V9", condition="as-found")


@pytest.mark.parametrize("visit", VISITS)
def test_quantities_are_strict_json_and_never_a_pass_with_a_gap(visit):
    from vibcal_nb.model.channel_case import list_channel_cases

    folder = load_visit(DEMO / visit)
    for channel, condition in list_channel_cases(folder):
        result = analyse_channel(load_channel_case(folder, channel=channel, condition=condition))
        entry = json.loads(json.dumps(result_entry(result), allow_nan=False))
        assert (entry["analysis"], entry["verdict"]) == ("channel-verdict", result.verdict)
        quantities = entry["quantities"]
        assert {"reach", "attribution", "as_found_as_left", "consequence", "verdict"} <= set(quantities)
        for point in quantities["reach"]:
            assert {"rotor", "frequency_hz", "set_point", "set_level", "true_level", "status"} <= set(point)
            assert (point["true_level"] is None) == (point["status"] in ("not verified", "does not act"))
            if point["status"] == "does not act":
                assert result.verdict == "fail"
        for name in ("attribution", "as_found_as_left", "consequence"):
            assert (quantities[name] is None) == (name in entry["undetermined"]), name
        if result.unverified or result.tests.missing:
            assert not result.verdict.endswith("pass")


def test_a_module_that_integrates_states_where_its_sensitivity_holds(tmp_path):
    module = '[channels.STG-1-V11.module]\ninput_unit = "{}"\noutput_unit = "mV pk"\nnominal_sensitivity = 1.6\n'
    module += "tolerance_pct = 5\n"
    with pytest.raises(InputRefused, match="give the frequency at which its nominal_sensitivity holds"):
        load_visit(build_site(tmp_path, linearity_rows(), asset=ASSET + module.format("pC pk")))
    with pytest.raises(InputRefused, match="give both in the same quantity"):
        asset = ASSET + module.format("mV pk") + "reference_hz = 80\n"
        load_visit(build_site(tmp_path, linearity_rows(), asset=asset))


def test_vibration_readings_rest_on_the_vibration_reference_and_injection_on_its_own():
    case = load_channel_case(load_visit(DEMO / "STG-1/2026-05-19"), channel="STG-1-V12", condition="as-found")
    assert {test: [r.id for r in one.references] for test, one in case.tests.items()} == {
        "linearity": ["REF-26"],
        "band-response": ["REF-26"],
        "sensor-alone": ["REF-26"],
        "module-alone": ["INJ-26"],
    }


def test_the_first_screen_is_one_sentence_then_what_it_rests_on(failed):
    html = card_html(card_of(failed))
    assert html.index("✗&nbsp;fail") < html.index("fails linearity and module alone") < html.index("What to do")


def test_run_makes_the_record_and_verify_performs_it_again(tmp_path):
    done = call(
        "run", DEMO / "STG-1/2026-05-19", "--channel", "STG-1-V12", "--analysis", "channel-verdict", cwd=tmp_path
    )
    assert (done.returncode, done.stderr) == (1, "")
    folder = tmp_path / "records" / "STG-1" / "2026-05-19"
    entries = json.loads((folder / "results.json").read_text(encoding="utf-8"))["results"]
    assert {(e["condition"], e["verdict"], e["record"]) for e in entries} == {
        ("as-found", "fail", "STG-1-V12/channel-verdict.as-found.ipynb"),
        ("as-left", "pass", "STG-1-V12/channel-verdict.as-left.ipynb"),
    }
    verified = call("verify", "-v", folder / entries[0]["record"], cwd=tmp_path)
    assert verified.returncode == 0, verified.stdout + verified.stderr
    assert "performed again" in verified.stdout
