"""What a later visit of the same outage left is compared with what the earlier one found."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import EQUIPMENT, HEADINGS, VISIT, build_site, linearity_rows
from vibcal_nb.analysis.channel.channel_verdict import analyse_channel
from vibcal_nb.display.channel.channel_tables import changes_table
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.perform.channel import load_channel_case
from vibcal_nb.running.commands.cli import main

OUTAGE = 'outage = "spring 2026"\n'
SECOND = EQUIPMENT.replace("-1", "-2").replace("2026-02-10", "2026-01-10").replace("2027-02-10", "2027-01-10")


def two_visits(tmp_path, *, first=OUTAGE, second=OUTAGE, used="1"):
    """As found 6 % high, and a week later as left as it should be."""
    build_site(tmp_path, linearity_rows(gain=4.24), visit=VISIT + first, equipment=EQUIPMENT + SECOND)
    home = tmp_path / "STG-1" / "2026-05-26"
    home.mkdir()
    text = VISIT.replace("2026-05-19", "2026-05-26").replace("REF-1", f"REF-{used}").replace("DVM-1", f"DVM-{used}")
    (home / "visit.toml").write_text(text + second, encoding="utf-8")
    rows = linearity_rows(gain=4.0, condition="as-left")
    (home / "readings.csv").write_text("\n".join([HEADINGS, *rows]), encoding="utf-8")
    return home


def verdict(home):
    return analyse_channel(load_channel_case(load_visit(home), channel="STG-1-V11", condition="as-left"))


def test_as_left_of_a_later_visit_is_held_against_as_found_of_the_earlier_one(tmp_path):
    result = verdict(two_visits(tmp_path))
    (change,) = result.changes
    assert change.as_found == pytest.approx(6.0, abs=0.02)
    assert change.as_left == pytest.approx(0.0, abs=0.02)
    assert change.significant
    assert result.case.found_at == "2026-05-19"
    assert changes_table(result).caption == "As found at the visit 2026-05-19 against as left"


def test_the_failed_as_found_has_its_consequence_there_too(tmp_path):
    result = verdict(two_visits(tmp_path))
    assert result.consequence is not None
    assert result.consequence.failed_tests == ("linearity",)


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("", "", "where an earlier visit found it, state the same outage in both visits"),
        ("", OUTAGE, "no earlier visit of the outage 'spring 2026' found it"),
        ('outage = "autumn 2025"\n', OUTAGE, "no earlier visit of the outage 'spring 2026' found it"),
    ],
)
def test_visits_of_different_outages_are_not_mixed(tmp_path, first, second, said):
    result = verdict(two_visits(tmp_path, first=first, second=second))
    assert result.changes is None
    assert said in result.undetermined["as_found_as_left"]


def test_other_instruments_do_not_cancel_in_the_change(tmp_path):
    """Closed form: the same instruments leave no trace, of others both parts are in U in full."""
    same = verdict(two_visits(tmp_path / "same"))
    other = verdict(two_visits(tmp_path / "other", used="2"))
    (before,), (after,) = same.changes, other.changes
    results = [analysis.uncertainty for analysis in (_found(tmp_path / "other"), other.tests.linearity)]
    ratio = 1.0 + after.change_pct / 100.0
    common = sum((ratio * u.u_common_pct(50.0)) ** 2 for u in results)
    assert after.expanded.u**2 == pytest.approx(before.expanded.u**2 + common, rel=1e-9)


def _found(site):
    folder = load_visit(site / "STG-1" / "2026-05-19")
    return analyse_channel(load_channel_case(folder, channel="STG-1-V11", condition="as-found")).tests.linearity


def test_check_does_not_ask_for_the_as_found_that_another_visit_of_the_outage_holds(tmp_path, capsys):
    two_visits(tmp_path)
    main(["check", str(tmp_path)])
    assert "was read as-left and never as-found" not in capsys.readouterr().out
    visit = tmp_path / "STG-1" / "2026-05-26" / "visit.toml"
    visit.write_text(visit.read_text(encoding="utf-8").replace(OUTAGE, ""), encoding="utf-8")
    main(["check", str(tmp_path)])
    assert "was read as-left and never as-found" in capsys.readouterr().out
