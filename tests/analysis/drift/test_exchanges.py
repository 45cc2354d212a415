"""An exchange is a break in the drift, named with both serials: what changed across it is nobody's drift."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from tests.support.readings.cases import CHANNEL, make_case
from vibcal_nb.analysis.drift.drift import DriftSettings, analyse_drift
from vibcal_nb.analysis.drift.interval import IntervalSteps
from vibcal_nb.analysis.drift.observations import Observation, break_between, observe, without_adjustments
from vibcal_nb.analysis.drift.standing import standings
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.display.drift.drift_card import drift_sentence, drift_steps
from vibcal_nb.display.drift.drift_statements import word_drift
from vibcal_nb.display.drift.drift_tables import changes_table
from vibcal_nb.model.items import Item
from vibcal_nb.records.quantities.result_entry import result_entry

SETTINGS = DriftSettings(
    steps=IntervalSteps(
        current_months=12.0, extend_months=6.0, shorten_months=6.0, shortest_months=1.0, longest_months=36.0
    )
)
FIRST = Observation(
    quantity="sensitivity at 50 Hz", date=date(2022, 5, 1), visit="2022", condition="as-found", deviation_pct=0.0,
    u_own_pct=0.1, nu_own=math.inf, shared_pct={}, tolerance_pct=5.0, verdict="pass",
    items={"sensor": "S-1041", "converter": "C-118"}, nominal="4 mV pk per mm/s pk",
)  # fmt: skip


def visits(*deviations, exchanged_from=None, condition="as-found", **changed):
    """One visit a year; from the year ``exchanged_from`` on with what ``changed`` says."""
    return [
        replace(
            FIRST,
            date=date(2022 + year, 5, 1),
            visit=str(2022 + year),
            condition=condition,
            deviation_pct=value,
            **(changed if exchanged_from is not None and year >= exchanged_from else {}),
        )
        for year, value in enumerate(deviations)
    ]


NEW_SENSOR = {"items": {"sensor": "S-2207", "converter": "C-118"}}


def drift(observations):
    case = make_case("linearity", np.full(4, 50.0), 4.0 * np.arange(1.0, 5.0), applied=np.arange(1.0, 5.0))
    case = replace(case, test="drift")
    return analyse_drift(
        case, observations, like=[standings(observations)], settings=SETTINGS, rng=np.random.default_rng(1)
    )


def test_a_step_across_an_exchange_is_no_drift():
    """0.1 % a year on both sides of a step of 3 %: the rate is 0.1 and the step belongs to the exchange."""
    observations = visits(0.0, 0.1, 0.2, 3.2, 3.3, 3.4, exchanged_from=3, **NEW_SENSOR)
    (found,) = drift(observations).quantities
    assert found.trend.slope == pytest.approx(0.1, abs=0.002)  # years of 365 and 366 days
    assert len(found.breaks) == 1
    assert not any(change.significant for change in found.changes)
    (exchange,) = found.breaks[0].why_broken.exchanges
    assert (exchange.part, exchange.before, exchange.after) == ("sensor", "S-1041", "S-2207")
    assert found.verdict == "pass"


def test_the_trend_begins_with_the_last_exchange_and_mixes_no_rate_of_another_item():
    """The old sensor lost 1 % a year, the new one gains 0.2: a rate of both would be neither's."""
    observations = visits(0.0, -1.0, -2.0, 0.0, 0.2, 0.4, exchanged_from=3, **NEW_SENSOR)
    result = drift(observations)
    (found,) = result.quantities
    assert found.trend.slope == pytest.approx(np.polyfit([0.0, 1.0, 2.0], [0.0, 0.2, 0.4], 1)[0], abs=0.002)
    assert (found.visits, found.visits_since_exchange, found.trend.degrees_of_freedom) == (6, 3, 1)
    (entry,) = result_entry(result)["quantities"]["drift"]
    assert entry["trend_from"] == ["2025-05-01", "as-found"]
    assert any(
        remark.startswith("The trend of sensitivity at 50 Hz begins with") for remark in word_drift(result).remarks
    )


def test_one_visit_since_an_exchange_gives_no_rate_and_asks_for_another():
    result = drift(visits(0.0, 0.1, 0.2, 3.2, exchanged_from=3, **NEW_SENSOR))
    assert (result.quantities[0].trend, result.verdict) == (None, "not verified")
    assert drift_sentence(result) == "1 visit since the last exchange cannot tell how it drifts"
    assert drift_steps(result) == ("come again by 2026-05: two visits to the same items give a rate",)


def test_without_an_exchange_the_same_step_is_said_to_be_a_change():
    (found,) = drift(visits(0.0, 0.1, 0.2, 3.2, 3.3, 3.4)).quantities
    assert found.breaks == ()
    assert [change.significant for change in found.changes] == [False, False, True, False, False]


def test_an_exchange_is_named_with_both_serials_wherever_drift_is_shown():
    result = drift(visits(0.0, 0.1, 3.1, exchanged_from=2, **NEW_SENSOR))
    said = "Between 2023-05-01 as found and 2024-05-01 as found: exchanged sensor S-1041 by S-2207"
    assert any(remark.startswith(said) for remark in word_drift(result).remarks)
    table = changes_table(result)
    assert table.headings[-1] == "no drift, because"
    assert [row.cells[-1] for row in table.rows] == ["–", "exchanged sensor S-1041 by S-2207"]
    (entry,) = result_entry(result)["quantities"]["drift"]
    assert entry["breaks"][0]["exchanges"] == [{"part": "sensor", "before": "S-1041", "after": "S-2207"}]
    assert len(entry["changes"]) == 1


def test_a_table_without_an_exchange_has_no_column_for_it():
    assert changes_table(drift(visits(0.0, 0.1, 0.2))).headings[-1] == "Eₙ"


def test_a_restated_nominal_sensitivity_breaks_the_drift_and_a_tolerance_does_not():
    restated = visits(0.0, 0.1, -2.3, exchanged_from=2, nominal="4.1 mV pk per mm/s pk")
    (found,) = drift(restated).quantities
    assert found.breaks[0].why_broken.restated == ("4 mV pk per mm/s pk", "4.1 mV pk per mm/s pk")
    assert break_between(*visits(0.0, 0.1, exchanged_from=1, tolerance_pct=3.0)) is None


def test_an_exchange_on_the_day_is_named_at_the_adjustment():
    before = visits(0.0, 0.1)
    after = replace(before[1], condition="as-left", deviation_pct=1.0, **NEW_SENSOR)
    result = drift([*before, after])
    (found,) = result.quantities
    assert found.adjustments[0].why_broken.exchanges[0].after == "S-2207"
    assert any("S-1041 by S-2207" in remark for remark in word_drift(result).remarks)


def test_the_first_observation_after_an_exchange_tells_nothing_of_drift():
    levels = list(without_adjustments(visits(0.0, 0.1, 3.1, 3.2, exchanged_from=2, **NEW_SENSOR)))
    assert [level for _, level in levels] == pytest.approx([0.0, 0.1, 0.2])
    assert [item.visit for item, _ in levels] == ["2022", "2023", "2025"]


def test_a_new_item_is_no_failure_of_the_old_one_in_the_count_of_like_channels():
    observations = visits(0.0, 0.1, 9.0, exchanged_from=2, **NEW_SENSOR)
    assert (drift(observations).reliability.years.size, drift(observations).reliability.out) == (1, 0)
    without = visits(0.0, 0.1, 9.0)
    assert (drift(without).reliability.years.size, drift(without).reliability.out) == (2, 1)


def test_where_one_side_names_no_item_nothing_is_claimed():
    unknown = replace(FIRST, items=None, nominal=None)
    assert break_between(unknown, FIRST) is None
    assert break_between(replace(FIRST, items={}), FIRST) is None


def test_a_test_names_the_items_that_it_passes_through():
    items = tuple(Item(part=part, serial=f"N-{part}") for part in ("sensor", "cable", "converter", "monitor"))
    channel = replace(CHANNEL, items=items)
    line = make_case(
        "linearity", np.full(4, 50.0), 4.0 * np.arange(1.0, 5.0), applied=np.arange(1.0, 5.0), channel=channel
    )
    alone = make_case("sensor-alone", np.array([40.0, 80.0, 160.0]), np.full(3, 50.0), channel=channel)
    assert set(observe(analyse_linearity(line))[0].items) == {"sensor", "cable", "converter", "monitor"}
    assert set(observe(analyse_sensor_alone(alone))[0].items) == {"sensor"}
