"""New files: every key is explained, nothing is claimed that nobody stated, nothing typed is written over."""

from __future__ import annotations

import json
import re
import tomllib
from datetime import date

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.places import DEMO
from tests.support.sites.filled_in import fill_in, uncommented
from vibcal_nb.inputs.load_asset import load_asset_folder
from vibcal_nb.model.common_kinds.common_kind import Open
from vibcal_nb.model.common_kinds.kinds import COMMON_KINDS
from vibcal_nb.model.keys.asset_keys import ASSET_FILE
from vibcal_nb.model.keys.channel_keys import CHANNEL, KIND
from vibcal_nb.model.keys.equipment_keys import EQUIPMENT_FILE
from vibcal_nb.model.keys.files import FILES, tables_of
from vibcal_nb.model.keys.visit_keys import VISIT_FILE
from vibcal_nb.problems import InputRefused, NotDone, ParameterError
from vibcal_nb.records.new_files.changed import with_tables, with_values
from vibcal_nb.records.new_files.explained import literal
from vibcal_nb.records.new_files.file_texts import asset_text, equipment_text, kinds_text, visit_text
from vibcal_nb.records.new_files.schemas import schema_of, schema_texts
from vibcal_nb.records.new_files.write_new import plan_new

TEN = list(COMMON_KINDS)


def mentioned(text: str, root, *, passed_over=frozenset()) -> set[str]:
    """Keys of a file's tables that its text does not explain."""
    missing = set()
    one_line = re.sub(r"\n# +", " ", text)
    for table in tables_of(root):
        if table.heading in passed_over:
            continue
        for key in table.keys:
            says = {key.says.removesuffix("."), key.says.removesuffix(".") if key.table is None else key.table.says}
            if not any(words.removesuffix(".") in one_line for words in says):
                missing.add(f"{table.heading} {key.name}")
    return missing


def test_every_key_is_explained_where_it_stands():
    layouts = {table.heading for table in tables_of(VISIT_FILE["table"].table)}
    assert not mentioned(equipment_text(), EQUIPMENT_FILE)
    assert not mentioned(visit_text(date(2027, 1, 2), equipment=[]), VISIT_FILE, passed_over=layouts)
    assert not mentioned(kinds_text([COMMON_KINDS[TEN[0]]]), KIND, passed_over={"[channels.TAG.from.DATE]"})
    passed_over = {"[channels.TAG.from.DATE]", KIND.heading}
    assert not mentioned(asset_text("P-1", rotors=["pump"], channels=[]), ASSET_FILE, passed_over=passed_over)


@pytest.mark.parametrize("name", TEN)
def test_a_common_kind_is_a_channel_as_soon_as_its_open_values_are_filled_in(tmp_path, name):
    plan_new(tmp_path / "S" / "P-1", channels=[("P-1-V1", name)], rotors=["pump"]).write()
    home = tmp_path / "S" / "P-1"
    with pytest.raises(InputRefused) as refused:
        load_asset_folder(home)
    named = {problem.column for problem in refused.value.problems}
    for path in (home.parent / "kinds.toml", home.parent / "equipment.toml", home / "asset.toml"):
        for line in path.read_text(encoding="utf-8").splitlines():
            found = re.match(r'(?!serial)(\w+) = ""', line)
            assert found is None or any(found[1] in column for column in named), line
        fill_in(path)
    channels = load_asset_folder(home).asset.channels
    axes = COMMON_KINDS[name].axes
    assert list(channels) == ([f"P-1-V1-{axis}" for axis in axes] if axes else ["P-1-V1"])
    channel = next(iter(channels.values()))
    assert channel.kind == name
    assert [rotor.name for rotor in channel.rotors] == ["pump"]


def test_no_limit_of_a_common_kind_is_live_unless_a_standard_states_it():
    for kind in COMMON_KINDS.values():
        stated = {key: value for key, value in flat(kind.values).items() if not isinstance(value, Open)}
        units = {key for key in stated if key.endswith("_unit")}
        assert set(stated) - units <= {"output_zero", "band.limits", "band.reference_hz"}, kind.name
        if "band.limits" in stated:
            assert "iso-2954" in kind.name


def flat(values, prefix=""):
    found = {}
    for key, value in values.items():
        found |= flat(value, f"{prefix}{key}.") if isinstance(value, dict) else {prefix + key: value}
    return found


# ISO 2954:1975, table of relative sensitivities: Hz: (least, greatest), from memory
ISO_2954 = {10: (0.8, 1.1), 20: (0.9, 1.1), 40: (0.9, 1.1), 160: (0.9, 1.1), 500: (0.9, 1.1), 1000: (0.8, 1.1)}


def test_the_broadband_monitor_has_the_limits_of_iso_2954():
    limits = COMMON_KINDS["broadband-iso-2954"].values["band"]["limits"]
    assert {item["hz"]: (item["min_pct"] / 100, item["max_pct"] / 100) for item in limits} == ISO_2954


def test_optional_keys_are_toml_as_soon_as_their_marks_are_taken_away():
    for text in (
        equipment_text(),
        visit_text(date(2027, 1, 2), equipment=["REF-1"]),
        kinds_text(COMMON_KINDS.values()),
    ):
        tomllib.loads(text)
        tomllib.loads(uncommented(text))


def test_what_is_there_stays_as_it_is(tmp_path):
    home = tmp_path / "S" / "P-1"
    plan_new(home, channels=[("P-1-V1", TEN[0])], rotors=["pump"]).write()
    typed = {path: path.read_text(encoding="utf-8") + "\n# mine\n" for path in home.parent.rglob("*.toml")}
    for path, text in typed.items():
        path.write_text(text, encoding="utf-8")
    again = plan_new(home)
    assert not again.texts and len(again.kept) == 3
    plan_new(home, channels=[("P-1-V2", "loop-velocity")]).write()
    for path, text in typed.items():
        now = path.read_text(encoding="utf-8")
        assert now.startswith(text.rstrip())
        assert set(tomllib.loads(text)) <= set(tomllib.loads(now))
    with pytest.raises(ParameterError, match="'P-1-V2' is there already"):
        plan_new(home, channels=[("P-1-V2", "loop-velocity")])
    with pytest.raises(ParameterError, match="has a kind 'loop-velocity' already"):
        plan_new(home, kinds=["loop-velocity"])


def test_a_visit_names_what_is_valid_on_its_day(tmp_path):
    site = tmp_path / "site"
    (site / "STG-1").mkdir(parents=True)
    for name in ("equipment.toml", "kinds.toml", "STG-1/asset.toml"):
        (site / name).write_bytes((DEMO / name).read_bytes())
    plan_new(site / "STG-1" / "2026-06-01").write()
    stated = tomllib.loads((site / "STG-1" / "2026-06-01" / "visit.toml").read_text(encoding="utf-8"))
    assert stated == {
        "date": date(2026, 6, 1),
        "performed_by": "",
        "equipment": ["REF-26", "INJ-26", "MIC-26", "DVM-26"],
    }
    assert plan_new(site / "STG-1" / "2026-06-01").kept


@pytest.mark.parametrize(
    ("folder", "more", "said"),
    [
        ("S/P-1/spring", {}, "name a new visit by its day"),
        ("S/P-1/2027-01-02", {"channels": [("T", TEN[0])]}, "channels belong to its asset"),
        ("S", {"channels": [("T", TEN[0])]}, "give the folder of an asset"),
        ("S/P-1", {"channels": [("T", "loop-velocty")]}, "did you mean 'loop-velocity'"),
        ("S/P-1", {"channels": [("a/b", TEN[0])]}, "cannot be used; tags name files"),
        ("S/P-1", {"kinds": ["nonesuch"]}, "There is no common kind 'nonesuch'"),
        ("S/P-1", {"rotors": ["fan"]}, r"add a rotor to its \[rotors\]"),
        ("S/.P", {}, "cannot be an asset's tag"),
        ("S/equipment.toml", {}, "is a file"),
    ],
)
def test_what_cannot_be_made_is_refused_in_a_sentence_and_nothing_is_written(tmp_path, folder, more, said):
    plan_new(tmp_path / "S" / "P-1", channels=[("P-1-V1", TEN[0])], rotors=["pump"]).write()
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    with pytest.raises(ParameterError, match=said):
        plan_new(tmp_path / folder, **more).write()
    assert before == {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}


def test_a_file_that_is_no_toml_is_refused_as_it_stands(tmp_path):
    plan_new(tmp_path / "S").write()
    (tmp_path / "S" / "kinds.toml").write_text("<<<<<<< mine\n", encoding="utf-8")
    with pytest.raises(InputRefused, match=r"kinds\.toml"):
        plan_new(tmp_path / "S", kinds=[TEN[0]])


def test_a_changed_value_leaves_every_comment_and_all_else_as_it_was():
    text = "# mine\n[a]  # so\nx = 1.0  # why\ny = 2\n\n[a.b]\nz = [1, 2]  # pair\n"
    assert with_values(text, ("a",), {"x": 3.5}, file="f") == text.replace("x = 1.0", "x = 3.5")
    assert with_values(text, ("a", "b"), {"z": [1, 5]}, file="f") == text.replace("[1, 2]", "[1, 5]")
    assert with_values(text, ("a",), {"x": 1.0}, file="f") == text
    assert tomllib.loads(with_values(text, ("a",), {"y": None}, file="f")) == {"a": {"x": 1.0, "b": {"z": [1, 2]}}}
    with pytest.raises(NotDone, match="f could not be changed"):
        with_values(text, ("a", "x"), {"q": 1}, file="f")
    with pytest.raises(NotDone, match="has one of the tables already"):
        with_tables(text, "[a.b]\nz = [1, 3]\n", file="f")


texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)
leaves = st.booleans() | st.integers(-(10**9), 10**9) | st.floats(allow_nan=False, allow_infinity=False) | texts
values = st.recursive(leaves, lambda v: st.lists(v, max_size=3) | st.dictionaries(texts, v, max_size=3), max_leaves=8)


@given(values)
def test_a_literal_reads_back_as_the_value_it_was_written_of(value):
    assert tomllib.loads(f"x = {literal(value)}")["x"] == value


def as_json(value):
    return json.loads(json.dumps(value, default=lambda day: day.isoformat()))


def test_the_schemas_admit_every_file_of_the_demo_site():
    for root in FILES.values():
        jsonschema.Draft7Validator.check_schema(schema_of(root))
    seen = 0
    for file, text in schema_texts().items():
        check = jsonschema.Draft7Validator(json.loads(text), format_checker=jsonschema.FormatChecker())
        for path in DEMO.rglob(file.replace(".json", ".toml")):
            check.validate(as_json(tomllib.loads(path.read_text(encoding="utf-8"))))
            seen += 1
    assert seen >= 14


@pytest.mark.parametrize(
    ("file", "toml"),
    [
        ("visit.json", 'date = "soon"\nequipment = []'),
        ("visit.json", "date = 2027-01-02"),
        ("visit.json", "date = 2027-01-02\nequipment = []\nperformed = 'A'"),
        ("asset.json", "[asset]\nname = 'P'\n[channels]"),
        ("asset.json", "[asset]\ntag = 'P'\n[channels.T]\nalert = -1"),
        ("asset.json", "[asset]\ntag = 'P'\n[channels.T.band]\nlimits = [{ hz = 10, min_pct = 80 }]"),
        ("kinds.json", "[k]\nnonlinearity_kind = 'straight'"),
        ("equipment.json", "[[reference]]\nid = 'R'"),
        ("waveforms.json", "[[waveform]]\nfile = 1"),
    ],
)
def test_the_schemas_find_what_is_wrong(file, toml):
    check = jsonschema.Draft7Validator(json.loads(schema_texts()[file]), format_checker=jsonschema.FormatChecker())
    assert list(check.iter_errors(as_json(tomllib.loads(toml))))


def test_the_schemas_explain_every_key_in_the_words_of_the_reference():
    text = "".join(schema_texts().values())
    for root in FILES.values():
        for table in tables_of(root):
            assert all(json.dumps(key.says, ensure_ascii=False)[1:-1] in text for key in table.keys), table.heading
    assert CHANNEL["tolerance_pct"].says in text
