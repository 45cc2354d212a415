"""What several channels share is stated once: a channel of a kind is as if it stated everything itself."""

from __future__ import annotations

import pytest

from tests.support.sites.plants import ASSET, EQUIPMENT, build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.problems import InputRefused

HEAD, OWN = ASSET.split("[channels.STG-1-V11]")
KIND = f"[casing]{OWN.replace('[channels.STG-1-V11.', '[casing.')}".replace('rotors = ["turbine"]\n', "")
OF_KIND = '[channels.STG-1-V11]\nkind = "casing"\nrotors = ["turbine"]\n'


def site(tmp_path, *, kinds="", channel=OF_KIND, more=""):
    home = build_site(tmp_path, linearity_rows(), asset=HEAD + channel + more, equipment=EQUIPMENT)
    if kinds:
        (tmp_path / "kinds.toml").write_text(kinds, encoding="utf-8")
    return home


def channel_of(home):
    return load_visit(home).asset.channels["STG-1-V11"]


def refusal(home):
    with pytest.raises(InputRefused) as caught:
        load_visit(home)
    return str(caught.value).splitlines()


def plain(channel):
    from dataclasses import replace

    return replace(channel, kind=None)


@pytest.fixture
def stated(tmp_path):
    return channel_of(build_site(tmp_path / "stated", linearity_rows(), asset=ASSET))


def test_a_channel_of_a_kind_is_as_if_it_stated_everything_itself(tmp_path, stated):
    found = channel_of(site(tmp_path, kinds=KIND))
    assert found.kind == "casing"
    assert plain(found) == stated


def test_a_kind_may_stand_in_the_assets_own_file(tmp_path, stated):
    own = KIND.replace("[casing", "[kinds.casing")
    assert plain(channel_of(site(tmp_path, more=own))) == stated


def test_the_assets_kind_lies_over_the_sites_of_the_same_name(tmp_path, stated):
    found = channel_of(site(tmp_path, kinds=KIND, more="[kinds.casing]\ntrip = 17.0\n"))
    assert (found.trip, found.alert) == (17.0, stated.alert)


def test_a_channel_overrides_single_keys_and_tables_merge_key_by_key(tmp_path, stated):
    more = "[channels.STG-1-V11.band]\nflat_pct = 4.0\n"
    found = channel_of(site(tmp_path, kinds=KIND, channel=OF_KIND + "trip = 19.0\n", more=more))
    assert (found.trip, found.alert) == (19.0, stated.alert)
    assert (found.band.flat_pct, found.band.flat_hz) == (4.0, stated.band.flat_hz)


def test_another_form_of_tolerance_takes_the_place_of_the_kinds(tmp_path):
    channel = OF_KIND + "full_scale = 25.0\ntolerance = { span_pct = 1.0 }\n"
    tolerance = channel_of(site(tmp_path, kinds=KIND, channel=channel)).tolerance
    assert (tolerance.reading_pct, tolerance.span_pct) == (None, 1.0)
    kinds = KIND.replace("tolerance_pct = 5.0\nnonl", "full_scale = 25.0\ntolerance = { span_pct = 1.0 }\nnonl", 1)
    tolerance = channel_of(site(tmp_path, kinds=kinds, channel=OF_KIND + "tolerance_pct = 4.0\n")).tolerance
    assert (tolerance.reading_pct, tolerance.span_pct) == (4.0, None)


def test_a_problem_of_a_kind_is_told_once_and_where_it_stands(tmp_path):
    two = OF_KIND + OF_KIND.replace("V11", "V12")
    (said,) = refusal(site(tmp_path, kinds=KIND.replace("trip = 18.0", "trip = -18.0"), channel=two))
    assert said.startswith(f"{tmp_path.name}/kinds.toml, key casing.trip: found '-18.0'; give a number above 0")


def test_what_neither_kind_nor_channel_states_is_missed_at_the_channel(tmp_path):
    (said,) = refusal(site(tmp_path, kinds=KIND.replace("nominal_sensitivity = 4.0\n", "", 1)))
    assert said.startswith("STG-1/asset.toml, key channels.STG-1-V11.nominal_sensitivity: found nothing")


@pytest.mark.parametrize(
    ("kinds", "channel", "said"),
    [
        (KIND, OF_KIND.replace("casing", "casin"), "found 'casin'; did you mean 'casing'"),
        ("", OF_KIND, "put a table of this name into kinds.toml"),
        (KIND + "[casing.items]\nsensor = { serial = 'S-1' }\n", OF_KIND, "the unknown key 'items'"),
        (KIND.replace("alert =", "alrt ="), OF_KIND, "did you mean 'alert'"),
        ("casing = 5\n", OF_KIND, "key casing: found '5'; give a table"),
        ("[casing\n", OF_KIND, "kinds.toml: found text that is not TOML"),
    ],
)
def test_a_wrong_kind_is_refused(tmp_path, kinds, channel, said):
    assert said in "\n".join(refusal(site(tmp_path, kinds=kinds, channel=channel)))


def test_a_kind_that_no_channel_uses_is_checked_too(tmp_path):
    assert "unused.trip" in "\n".join(refusal(site(tmp_path, kinds=KIND + "[unused]\ntrip = 'x'\n")))


def test_a_kind_restates_limits_for_all_its_channels_and_a_channel_keeps_its_own(tmp_path):
    kinds = KIND + "[casing.from.2026-01-01]\ntrip = 17.0\nalert = 10.5\n[casing.from.2030-01-01]\ntrip = 16.0\n"
    home = site(tmp_path, kinds=kinds, channel=OF_KIND + "alert = 12.0\n")
    found = channel_of(home)
    assert (found.trip, found.alert) == (17.0, 12.0)
    visit = home / "visit.toml"
    visit.write_text(visit.read_text(encoding="utf-8").replace("2026-05-19", "2025-12-31"), encoding="utf-8")
    assert (channel_of(home).trip, channel_of(home).alert) == (18.0, 12.0)


def test_kinds_that_lead_out_of_the_site_are_refused(tmp_path):
    (tmp_path / "elsewhere.toml").write_text(KIND, encoding="utf-8")
    home = site(tmp_path / "site")
    (tmp_path / "site" / "kinds.toml").symlink_to(tmp_path / "elsewhere.toml")
    assert "a link that leads out of the site's folder" in "\n".join(refusal(home))
