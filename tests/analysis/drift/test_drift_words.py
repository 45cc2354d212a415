"""What a drift record says: the last change first, how many comparisons were made, and what an interval is of."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy import optimize, stats

from tests.support.analyses.drift import analyse, yearly
from vibcal_nb.analysis.drift.normalized_error import compare
from vibcal_nb.display.drift.drift_card import drift_sentence, drift_steps
from vibcal_nb.display.drift.drift_statements import word_drift
from vibcal_nb.display.drift.drift_tables import changes_table, trend_table
from vibcal_nb.display.drift.drift_view import VIEW


def test_the_change_up_to_the_last_visit_is_the_finding_and_an_earlier_one_a_remark():
    said = word_drift(analyse(yearly([0.0, 4.0, 4.1])))
    assert not any("changed by" in text for text in said.findings)
    (earlier,) = [text for text in said.remarks if "changed by" in text]
    assert earlier.startswith("Earlier: The ") and "from 2020-05-01 as found to 2021-05-01 as found" in earlier
    last = word_drift(analyse(yearly([0.0, 0.1, 4.1]))).findings[0]
    assert "from 2021-05-01 as found to 2022-05-01 as found: more than its uncertainty explains" in last


def test_where_a_comparison_exceeds_1_their_number_is_said_with_what_chance_gives():
    """Four comparisons with U for 95 %: 0.2 exceed 1 on average where nothing changed."""
    (said,) = [t for t in word_drift(analyse(yearly([0.0, 0.1, 4.1, 4.0, 4.1]))).remarks if "comparisons" in t]
    assert said == "Of 4 comparisons between visits 1 has |Eₙ| above 1, where chance alone gives 0.2 on average"
    assert not any("comparison" in text for text in word_drift(analyse(yearly([0.0, 0.1, 0.2]))).remarks)


def test_chance_gives_that_share_of_comparisons():
    rng = np.random.default_rng(20261130)
    found = []
    for _ in range(2000):
        before, after = yearly(rng.normal(0.0, 0.5, 2), u_own=0.5)
        found.append(compare(before, after).significant)
    assert stats.binomtest(sum(found), 2000, 0.05).pvalue > 0.001


def test_e_n_has_the_coverage_that_the_visit_states():
    """U for 99 % is 2.576 u in place of 1.960 u: E_n is smaller by that."""
    before, after = yearly([0.0, 1.0])
    usual, wide = compare(before, after), compare(before, replace(after, probability=0.99))
    assert pytest.approx(usual.expanded.U * stats.norm.ppf(0.995) / stats.norm.ppf(0.975)) == wide.expanded.U
    assert wide.E_n * wide.expanded.U == pytest.approx(usual.E_n * usual.expanded.U)


def test_the_interval_beside_the_date_is_said_to_be_the_dates_own():
    result = analyse(yearly([0.0, 1.0, 2.0]))
    (text,) = [text for text in word_drift(result).findings if "probability" in text]
    assert "the visits leave that date open from 20" in text
    assert text.endswith("(95 %), which is no interval for when the tolerance is left")
    table = trend_table(result)
    assert "that date, 95 %" in table.headings and "none for when the tolerance is left" in table.note


def test_that_date_comes_before_the_one_of_leaving_the_tolerance():
    """A channel that drifts 1 % a year from 0 leaves 5 % after five years."""
    (quantity,) = analyse(yearly([0.0, 1.0, 2.0])).quantities
    left = date(2025, 5, 1)
    last = quantity.observations[-1].date
    assert quantity.date.years is not None
    assert quantity.date.years < (left - last).days / 365.25


def test_the_rule_does_not_read_like_a_finding():
    assert VIEW.basis(analyse(yearly([0.0, 4.0, 0.1]))).startswith("Rule: a pass is within its tolerance with 95 %")


def test_columns_that_would_say_nothing_are_left_out():
    quiet = changes_table(analyse(yearly([0.0, 0.1, 0.2])))
    assert quiet.headings == ("quantity", "from", "to", "change", "U", "Eₙ")
    loud = changes_table(analyse(yearly([0.0, 0.1, 4.2])))
    assert loud.headings[-1] == "more than U explains"
    assert [row.cells[-1] for row in loud.rows] == ["–", "yes"]


def test_the_card_says_until_when_it_stays_within_and_when_the_next_visit_is_due():
    """Mean u²/3 and slope u²/2 of three yearly levels: u² (1/3 + (1 + t)²/2) at t; 4 + 2 t + 1.645 u(t) meets 5."""
    result = analyse(yearly([0.0, 2.0, 4.0], u_own=0.3))

    def beyond(t):
        return 4.0 + 2.0 * t + stats.norm.ppf(0.95) * 0.3 * np.sqrt(1.0 / 3.0 + (1.0 + t) ** 2 / 2.0) - 5.0

    by = f"{date(2022, 5, 1) + timedelta(days=365.25 * optimize.brentq(beyond, 0.0, 1.0)):%Y-%m}"
    assert drift_sentence(result).endswith(f"(95 % probable) until {by}; the next visit is due after 12 months")
    (step,) = drift_steps(result)
    assert step.startswith(f"come again by {by}, or adjust or exchange before: ")


def test_what_is_off_now_is_to_be_adjusted():
    result = analyse(yearly([0.0, 3.0, 6.0]))
    assert "it is not within ± 5 % (95 % probable) even now" in drift_sentence(result)
    assert drift_steps(result)[0].startswith("adjust or exchange what is off, and read it as left: ")


def test_a_quiet_channel_is_come_to_again_after_its_interval():
    assert drift_steps(analyse(yearly([0.0, 0.1, 0.2]))) == ("come again by 2023-05",)


def test_a_step_between_two_visits_is_to_be_looked_into():
    steps = drift_steps(analyse(yearly([0.0, 0.1, 4.1, 4.0])))
    assert steps[0].startswith("find out what happened between 2021-05-01 and 2022-05-01: ")
    assert "changed by +4.0" in steps[0]
