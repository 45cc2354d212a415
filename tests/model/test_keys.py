"""The tables of keys are what the readers validate from, and every key that the code reads stands in one."""

from __future__ import annotations

import tomllib
from dataclasses import MISSING, fields

import pytest

from tests.support.sites.plants import build_site, linearity_rows
from tests.support.sites.rich_site import (
    RICH_ASSET,
    RICH_EQUIPMENT,
    RICH_SITE,
    RICH_VISIT,
    RICH_WAVEFORMS,
    write_signals,
)
from vibcal_nb.inputs.files.toml_table import TomlTable, expected
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.inputs.read_readings import COLUMNS, OPTIONAL, REQUIRED
from vibcal_nb.inputs.read_site_facts import SITE, read_site_facts
from vibcal_nb.inputs.read_waveform_list import read_waveform_list
from vibcal_nb.inputs.reading_row import RowReader
from vibcal_nb.inputs.signals.recording_setup import SETUP, read_recording_setup
from vibcal_nb.model.asset import BandSpecification, Channel
from vibcal_nb.model.equipment import Reference
from vibcal_nb.model.keys.channel_keys import CHANNEL
from vibcal_nb.model.keys.files import FILES, tables_of
from vibcal_nb.model.keys.key import KEY_TYPES
from vibcal_nb.model.keys.parts.band_keys import BAND
from vibcal_nb.model.keys.parts.reference_keys import REFERENCE
from vibcal_nb.model.keys.reading_columns import READING_TABLE, SHEET_COLUMNS
from vibcal_nb.model.keys.visit_keys import CONTRIBUTION, DECISION
from vibcal_nb.model.visit import Contribution, Decision
from vibcal_nb.problems import InputRefused

TOML_TABLES = [table for root in FILES.values() for table in tables_of(root)]
TOML_KEYS = [(table, key) for table in TOML_TABLES for key in table.keys]
ALL_KEYS = [*TOML_KEYS, *((table, key) for table in (READING_TABLE, SHEET_COLUMNS) for key in table.keys)]

RICH_RECORDING = """
reference = { track = "1", scale = 20.0, unit = "mm/s pk" }
output = { track = "2", scale = 1.0, unit = "V pk" }
sampling_hz = 48000
device = "interface A"
"""


def named(pair):
    return f"{pair[0].heading} {pair[1].name}"


def test_every_key_that_is_described_is_read_and_no_other_can_be(tmp_path, monkeypatch):
    """The list of all keys that the code knows is what its readers ask for on a site that has every table."""
    asked = set()
    take = TomlTable.take

    def noting(self, name, *types):
        asked.add((self.keys.heading, name))
        return take(self, name, *types)

    monkeypatch.setattr(TomlTable, "take", noting)
    home = build_site(tmp_path, linearity_rows(), asset=RICH_ASSET, equipment=RICH_EQUIPMENT, visit=RICH_VISIT)
    write_signals(home)
    (home / "waveforms" / "waveforms.toml").write_text(RICH_WAVEFORMS, encoding="utf-8")
    (tmp_path / SITE).write_text(RICH_SITE, encoding="utf-8")
    read_site_facts(tmp_path)
    visit = load_visit(home)
    read_waveform_list(home, asset=visit.asset)
    (home / SETUP).write_text(RICH_RECORDING, encoding="utf-8")
    read_recording_setup(home)
    assert asked == {(table.heading, key.name) for table, key in TOML_KEYS}
    with pytest.raises(KeyError, match="describes no key"):
        CHANNEL["serial_number"]


def test_every_column_that_is_described_is_read(tmp_path, monkeypatch):
    asked = set()
    cell = RowReader._cell

    def noting(self, column):
        asked.add(column)
        return cell(self, column)

    monkeypatch.setattr(RowReader, "_cell", noting)
    load_visit(build_site(tmp_path, linearity_rows()))
    assert asked | {"frequency_rpm"} == set(READING_TABLE.names) == set(COLUMNS)
    assert {*REQUIRED, *OPTIONAL, "frequency_hz", "frequency_rpm"} == set(COLUMNS)


@pytest.mark.parametrize("pair", ALL_KEYS, ids=named)
def test_a_key_says_what_it_is(pair):
    _, key = pair
    assert key.type in KEY_TYPES
    assert key.says.endswith(".")
    assert ". " not in key.says.replace("...", "")
    assert bool(key.choices) == (key.type in ("choice", "unit"))
    assert (key.table is not None) == (key.type in ("table", "list of tables", "tables by name"))
    assert (key.named is not None) == (key.type == "tables by name")
    if key.type == "number":
        assert key.unit or key.name in (
            "r",
            "coverage_probability",
            "largest_u_share",
            "degrees_of_freedom",
            "divisor",
            "k",
            "correlation",
        )
    if isinstance(key.default, float):
        assert key.admits(key.default)
    if key.type == "choice" and not key.required and key.default is not None:
        assert key.default in key.choices


@pytest.mark.parametrize("pair", [pair for pair in TOML_KEYS if pair[1].example], ids=named)
def test_an_example_is_read_without_a_problem(pair):
    table, key = pair
    values = tomllib.loads(f"{key.name} = {key.example}")
    problems = []
    reader = TomlTable.of_file(table, "example.toml", values, problems)
    if key.type == "list of tables":
        for item in reader.tables(key.name):
            item.read(*[inner.name for inner in item.keys.keys])
            item.finish()
    elif key.type == "column by heading":
        reader.take(key.name, "column by heading")
    elif key.type == "table":
        found = reader.table(key.name)
        found.read(*[inner.name for inner in found.keys.keys if inner.type != "table"])
        found.finish()
    else:
        reader.read(key.name)
    assert not problems


@pytest.mark.parametrize(
    ("model", "table"),
    [
        (Channel, CHANNEL),
        (BandSpecification, BAND),
        (Reference, REFERENCE),
        (Decision, DECISION),
        (Contribution, CONTRIBUTION),
    ],
    ids=lambda item: getattr(item, "__name__", ""),
)
def test_what_a_key_says_of_its_default_is_the_models_own(model, table):
    defaults = {field.name: field.default for field in fields(model) if field.default is not MISSING}
    for key in table.keys:
        if key.default is not None and key.name in defaults:
            assert key.default == defaults[key.name], key.name


def test_an_unknown_key_is_answered_by_the_nearest_and_by_all_known_ones(tmp_path):
    asset = RICH_ASSET.replace("full_scale", "fullscale", 1)
    with pytest.raises(InputRefused) as caught:
        load_visit(build_site(tmp_path, linearity_rows(), asset=asset, equipment=RICH_EQUIPMENT))
    said = str(caught.value)
    assert "did you mean 'full_scale'" in said
    assert all(name in said for name in CHANNEL.names)
    assert "more)" not in said


def test_what_a_key_expects_is_said_of_every_type():
    assert {key.type for _, key in TOML_KEYS if expected(key)} <= set(KEY_TYPES)
    assert expected(CHANNEL["tolerance_pct"]) == "a number above 0 and up to 100"
    assert expected(CHANNEL["sensor"]) == "a table [sensor]"
    assert expected(CHANNEL["rotors"]) == 'a list of names from [rotors], such as ["turbine"]'
