"""The notebook for describing a site: forms that change single values in a person's files, and a sketch of them."""

from __future__ import annotations

import re
import tomllib

import pytest

from tests.support.places import DEMO
from tests.support.sites.filled_in import fill_in
from vibcal_nb.display.sketch.channel_sketch import sketch_of
from vibcal_nb.display.sketch.sketch_plots import sketch_picture
from vibcal_nb.model.keys.channel_keys import CHANNEL
from vibcal_nb.model.keys.files import FILES, tables_of
from vibcal_nb.model.keys.parts.band_keys import BAND
from vibcal_nb.notebook.describe_site import open_description, picture_of, read_description
from vibcal_nb.notebook.panels.site_form import SiteForm
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.new_files.typed import typed, value_of
from vibcal_nb.records.new_files.write_new import plan_new


@pytest.fixture
def home(tmp_path):
    home = tmp_path / "S" / "P-1"
    plan_new(home, channels=[("P-1-V1", "charge-velocity"), ("P-1-V2", "charge-velocity")], rotors=["pump"]).write()
    fill_in(home.parent / "equipment.toml")
    return home


def test_what_is_typed_is_drawn_and_kept_and_every_comment_stays(home):
    before = {path: path.read_text(encoding="utf-8") for path in (home / "asset.toml", home.parent / "kinds.toml")}
    form = SiteForm(read_description(home))
    form.choice.value = ("kinds.toml", "charge-velocity")
    typed_in = {
        ("nominal_sensitivity",): "4,0",
        ("tolerance_pct",): "5",
        ("trip",): "18",
        ("band", "reference_hz"): "80",
        ("band", "flat_hz"): "40, 200",
        ("band", "flat_pct"): "5",
        ("band", "corner_low_hz"): "20",
        ("band", "corner_high_hz"): "400",
        ("sensor", "nominal_sensitivity"): "5",
        ("sensor", "tolerance_pct"): "5",
        ("sensor", "reference_hz"): "80",
        ("sensor", "flat_hz"): "20, 400",
        ("sensor", "flat_pct"): "5",
        ("module", "nominal_sensitivity"): "1.5915",
        ("module", "tolerance_pct"): "5",
        ("module", "reference_hz"): "80",
    }
    for path, text in typed_in.items():
        form.fields["charge-velocity", *path].value = text
    assert "trip 18 mm/s pk" in form.sketch.value
    assert "flat within 5 % from 40 to 200 Hz" in form.sketch.value
    assert "1 open" in form.said.value and "speed_rpm" in form.said.value
    assert {path: path.read_text(encoding="utf-8") for path in before} == before
    form.choice.value = ("asset.toml", "rotors", "pump")
    form.fields["rotors", "pump", "speed_rpm"].value = "2980"
    assert "Nothing is open" in form.said.value
    form.keep()
    assert "is kept" in form.done.value
    for path, text in before.items():
        now = path.read_text(encoding="utf-8")
        tomllib.loads(now)
        comments = [line for line in text.splitlines() if line.startswith("#")]
        assert [line for line in now.splitlines() if line.startswith("#")] == comments
    stated = tomllib.loads((home.parent / "kinds.toml").read_text(encoding="utf-8"))["charge-velocity"]
    assert (stated["nominal_sensitivity"], stated["trip"], stated["band"]["flat_hz"]) == (4.0, 18, [40, 200])


def test_what_cannot_be_used_is_said_in_the_words_of_check_and_what_was_drawn_stays_drawable(home):
    form = SiteForm(read_description(home))
    form.choice.value = ("kinds.toml", "charge-velocity")
    form.fields["charge-velocity", "trip"].value = "eighteen"
    assert "trip: found &#x27;eighteen&#x27;; give a number above 0" in form.said.value
    form.fields["charge-velocity", "input_unit"].value = "mm/s"
    assert "input_unit" in form.said.value
    form.fields["charge-velocity", "trip"].value = ""
    assert "eighteen" not in form.said.value


def test_a_channel_is_added_and_overrides_its_kind(home):
    form = SiteForm(read_description(home))
    form.tag.value, form.kind.value = "P-1-A1", "loop-velocity"
    form.add()
    assert form.choice.value == ("asset.toml", "channels", "P-1-A1")
    form.fields["channels", "P-1-A1", "alert"].value = "7.1"
    form.keep()
    assert read_description(home).channel("P-1-A1")["alert"] == 7.1
    assert "loop-velocity" in read_description(home).kinds
    form.tag.value = "P-1-A1"
    form.add()
    assert "is there already" in form.done.value


def test_what_someone_else_changed_meanwhile_is_not_written_over(home):
    form = SiteForm(read_description(home))
    form.fields["channels", "P-1-V1", "alert"].value = "11"
    path = home / "asset.toml"
    path.write_text(path.read_text(encoding="utf-8") + "# theirs\n", encoding="utf-8")
    form.keep()
    assert "changed by someone else" in form.done.value
    assert path.read_text(encoding="utf-8").endswith("# theirs\n")


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        (CHANNEL["trip"], "18", 18),
        (CHANNEL["trip"], " 18,5 ", 18.5),
        (CHANNEL["trip"], "", None),
        (CHANNEL["rotors"], "motor, pump", ["motor", "pump"]),
        (CHANNEL["tolerance"], "{ span_pct = 1.0 }", {"span_pct": 1.0}),
        (CHANNEL["location"], "bearing 1, vertical", "bearing 1, vertical"),
        (BAND["flat_hz"], "[40, 250]", [40, 250]),
        (BAND["flat_hz"], "40 to 250", "[40 to 250]"),
    ],
)
def test_what_a_person_types_is_the_value_it_looks_like(key, text, value):
    assert value_of(key, text) == value


@pytest.mark.parametrize(
    "key", [key for root in FILES.values() for table in tables_of(root) for key in table.keys if key.example]
)
def test_an_example_is_typed_as_it_is_shown(key):
    value = tomllib.loads(f"x = {key.example}")["x"]
    shown = typed(key, value)
    assert value_of(key, shown) in (value, [value])


def test_the_demo_channel_is_sketched_with_its_limits():
    described = open_description({}, asset_folder=str(DEMO / "STG-1"), channel="STG-1-V11")
    assert described.problems() == ()
    picture = picture_of(described, "STG-1-V11")
    for words in ("nominal 4 mV pk", "alert 11, trip 18", "low corner at 20 Hz", "82 to 92 % at 300 Hz"):
        assert words in picture.text
    assert re.search(r">trip 18<|trip 18", picture.svg)


@pytest.mark.parametrize("values", [{}, {"band": 3, "trip": "x", "rotors": "pump"}, {"band": {"limits": [{"hz": 10}]}}])
def test_whatever_is_stated_can_be_drawn(values):
    assert "<svg" in sketch_picture(sketch_of("T", values, rotors={"pump": {}})).svg


@pytest.mark.parametrize(
    ("folder", "channel", "said"),
    [
        ("STG-1", "STG-1-V1l", "did you mean"),
        ("nowhere", "", "has no asset.toml"),
        ("STG-1", 3, "give a tag in quotes"),
    ],
)
def test_wrong_parameters_are_refused(folder, channel, said):
    with pytest.raises(ParameterError, match=said):
        open_description({}, asset_folder=str(DEMO / folder), channel=channel)
