"""A channel's visit as a certificate: valid by both validators, and every number, unit and verdict read back equal.

The schema of version 3.3.0 is asked where DCC_SCHEMAS names it; units are checked by dsiunits, a library of the
Digital System of Units that shares no code with ours; our own rules are checked everywhere.
"""

from __future__ import annotations

import json
import shutil
from datetime import date

import pytest

from tests.support.certificates import schema_folder, schema_problems
from tests.support.kept.channel_report import keep_results
from tests.support.places import DEMO
from vibcal_nb.inputs.certificates.dsi_units import parse_dsi
from vibcal_nb.inputs.certificates.read_certificate import CertificateRefused, parse_root, read_certificate
from vibcal_nb.inputs.certificates.rules import certificate_problems
from vibcal_nb.inputs.certificates.sensitivity import find_sensitivity
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.inputs.read_site_facts import read_site_facts
from vibcal_nb.model.names import CHANNEL_VERDICT, DRIFT
from vibcal_nb.model.site.site_facts import Party, SiteFacts
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.certificate.certificate_facts import CertificateNotMade, gather_facts, records_in
from vibcal_nb.records.certificate.entry_quantities import ChannelUnits, parts_of_entry
from vibcal_nb.records.certificate.read_back import read_parts
from vibcal_nb.records.certificate.write_certificate import (
    certificate_bytes,
    certificate_path,
    seals_in_certificate,
    write_certificate,
)
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_certificate import is_certificate, verify_certificate

TODAY = date(2026, 11, 30)
CHANNELS = [
    ("STG-1/2026-05-19", "STG-1-V12"),
    ("FDF-3/2026-05-05", "FDF-3-V11"),
    ("BFP-2/2026-04-21", "BFP-2-A11"),
    ("BFP-2/2026-04-21", "BFP-2-TRIP"),
    ("AUX-4/2026-06-02", "AUX-4-X11"),
]


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """The records of some channels, each kind of test among them, by their tags."""
    made = {}
    for visit, channel in CHANNELS:
        out = tmp_path_factory.mktemp("kept") / visit
        keep_results(load_visit(DEMO / visit), out, channel=channel, without=(DRIFT, CHANNEL_VERDICT))
        made[channel] = records_in(out / channel)
    return made


def facts_of(kept, channel, site=None):
    return gather_facts(kept[channel], read_site_facts(DEMO) if site is None else site)


def numbers_in(value, path=()):
    """Every number of an entry, with the keys above it."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers_in(item, (*path, key))
    elif isinstance(value, list):
        for item in value:
            yield from numbers_in(item, path)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path, value


@pytest.mark.parametrize("channel", [channel for _, channel in CHANNELS])
def test_every_number_of_a_record_is_read_back_equal(kept, channel):
    facts = facts_of(kept, channel)
    certificate = read_certificate(certificate_bytes(facts, issued=TODAY))
    for record in facts.records:
        name = f"{record.entry['analysis']}, {record.entry['condition']}".replace("-", " ")
        own = [part for part in read_parts(certificate) if part.result == name]
        said = {
            value
            for part in own
            for column in part.columns.values()
            for values in (column.values, column.expanded or (), column.k or ())
            for value in values
        }
        wanted = [(p, v) for p, v in numbers_in(record.entry["quantities"]) if "effective_degrees" not in " ".join(p)]
        assert [path for path, value in wanted if float(value) not in said] == []


@pytest.mark.parametrize("channel", [channel for _, channel in CHANNELS])
def test_every_verdict_is_read_back(kept, channel):
    facts = facts_of(kept, channel)
    found = read_certificate(certificate_bytes(facts, issued=TODAY)).conformities
    assert len(found) == len(facts.records)
    for record, said in zip(facts.records, found, strict=True):
        verdict = record.entry["verdict"]
        first, *rest = verdict.split()
        code = first + "".join(word.title() for word in rest)
        assert said.codes == (() if verdict == "not verified" else (code,))
        assert said.declaration.startswith(f"Verdict: {verdict}. ")


@pytest.mark.skipif(schema_folder() is None, reason="DCC_SCHEMAS names no folder of schemas")
@pytest.mark.parametrize("channel", [channel for _, channel in CHANNELS])
def test_a_certificate_is_valid_by_both_validators(kept, channel):
    assert schema_problems(certificate_bytes(facts_of(kept, channel), issued=TODAY, sheet=b"%PDF-1.7")) == []


@pytest.mark.filterwarnings("ignore:The dsi string contains")  # of the library about its own deprecated words
@pytest.mark.parametrize("channel", [channel for _, channel in CHANNELS])
def test_every_unit_is_one_of_the_digital_system_of_units(kept, channel):
    dsi_unit = pytest.importorskip("dsi_unit")
    certificate = read_certificate(certificate_bytes(facts_of(kept, channel), issued=TODAY))
    units = {unit for table in certificate.tables for column in table.columns for unit in column.units}
    assert units
    assert [unit for unit in units if not dsi_unit.DsiUnit(unit).valid] == []


def test_our_own_rules_hold(kept):
    for channel in kept:
        assert certificate_problems(certificate_bytes(facts_of(kept, channel), issued=TODAY)) == []


def test_the_points_of_a_linearity_stand_with_their_units_and_uncertainty(kept):
    facts = facts_of(kept, "STG-1-V12")
    record = next(item for item in facts.records if item.entry["analysis"] == "linearity")
    line = record.entry["quantities"][0]
    parts = list(read_parts(read_certificate(certificate_bytes(facts, issued=TODAY))))
    whole = next(part for part in parts if part.result == "linearity, as found" and part.table is None)
    points = next(part for part in parts if part.result == "linearity, as found" and part.table == "points")
    sensitivity = whole.columns["sensitivity"]
    assert sensitivity.name == "sensitivity (mV pk per mm/s pk)"
    assert parse_dsi(sensitivity.units[0]).factor == pytest.approx(1.0)
    assert sensitivity.expanded == (line["expanded_uncertainty"],)
    assert sensitivity.k == (line["k"],)
    assert sensitivity.probability == (0.95,)
    assert points.columns["applied"].values == tuple(row["applied"] for row in line["points"])
    assert points.columns["applied"].units == (r"\milli\metre\second\tothe{-1}",)
    assert points.columns["verdict"].words == tuple(row["verdict"].replace(" ", "") for row in line["points"])


@pytest.mark.parametrize(
    ("output", "given", "factor", "unit"),
    [
        ("mV pk", "g pk", 1 / 9.80665, r"\milli\volt\second\tothe{2}\metre\tothe{-1}"),
        ("mV pk", "in/s pk", 1 / 25.4, r"\milli\volt\second\milli\metre\tothe{-1}"),
        ("V dc", "mil", 1 / 25.4, r"\volt\micro\metre\tothe{-1}"),
    ],
)
def test_what_dsi_lacks_is_converted_by_exact_factors(output, given, factor, unit):
    entry = {"analysis": "linearity", "quantities": [{"frequency_hz": 80.0, "sensitivity": 100.0, "points": []}]}
    (part,) = parts_of_entry(entry, ChannelUnits(input=given, output=output))
    found = next(item for item in part.singles if item.key == "sensitivity")
    assert found.values == (pytest.approx(100.0 * factor, rel=1e-15),)
    assert found.units == (unit,)
    assert found.name == f"sensitivity ({output} per {given})"


def test_a_channel_is_no_reference_for_its_sensitivities_state_no_uncertainty_of_their_own(kept):
    with pytest.raises(CertificateRefused, match=r"a reference needs one|tables of sensitivity"):
        find_sensitivity(read_certificate(certificate_bytes(facts_of(kept, "STG-1-V12"), issued=TODAY)))


def test_nothing_is_invented_and_what_is_missing_is_listed(kept):
    bare = facts_of(kept, "STG-1-V12", SiteFacts(country="GB"))
    said = "\n".join(bare.missing)
    for words in ("the laboratory", "the customer", "where the work was done", "who authorises it", "certificate of"):
        assert words in said
    data = certificate_bytes(bare, issued=TODAY).decode()
    assert "Not recorded: the laboratory" in data
    assert read_certificate(data.encode()).laboratory == "not recorded"
    full = facts_of(kept, "STG-1-V12", SiteFacts(country="GB", place="customer", laboratory=Party(name="L", city="C")))
    assert not [item for item in full.missing if "the laboratory" in item]


def test_a_name_that_was_typed_authorises_nothing(kept):
    data = certificate_bytes(facts_of(kept, "STG-1-V12"), issued=TODAY).decode()
    assert "<dcc:mainSigner>true" not in data
    assert "authorises, by" not in data


def test_without_a_country_there_is_no_certificate(kept):
    with pytest.raises(CertificateNotMade, match="state country = "):
        facts_of(kept, "STG-1-V12", SiteFacts())


def test_records_of_two_channels_make_no_certificate(kept):
    with pytest.raises(CertificateNotMade, match="of another channel or visit"):
        gather_facts([*kept["STG-1-V12"], *kept["FDF-3-V11"]], read_site_facts(DEMO))


def test_a_record_that_was_changed_makes_no_certificate(kept, tmp_path):
    record = tmp_path / kept["STG-1-V12"][0].name
    record.write_bytes(kept["STG-1-V12"][0].read_bytes().replace(b'"pass"', b'"fail"'))
    with pytest.raises(CertificateNotMade, match="no certificate is made of it"):
        gather_facts([record], read_site_facts(DEMO))


def test_a_certificate_stays_and_another_takes_it_over_by_name(kept, tmp_path):
    facts = facts_of(kept, "FDF-3-V11")
    path = certificate_path(tmp_path / "FDF-3-V11" / "linearity.as-found.ipynb")
    assert write_certificate(facts, path, today=TODAY, sheet=None).new
    first = path.read_bytes()
    assert not write_certificate(facts, path, today=date(2027, 1, 1), sheet=None).new
    assert path.read_bytes() == first
    other = facts_of(kept, "FDF-3-V11", SiteFacts(country="GB"))
    written = write_certificate(other, path, today=TODAY, sheet=None)
    assert written.aside.read_bytes() == first
    assert f"<dcc:replacedUniqueIdentifier>{facts.identifier}<" in path.read_text(encoding="utf-8")
    path.write_text("something else", encoding="utf-8")
    with pytest.raises(CertificateNotMade, match="a file that is no certificate lies there"):
        write_certificate(other, path, today=TODAY, sheet=None)


def test_the_seals_of_the_records_stand_in_the_certificate(kept):
    facts = facts_of(kept, "STG-1-V12")
    root = parse_root(certificate_bytes(facts, issued=TODAY))
    assert seals_in_certificate(root) == tuple(item.seal["digest"] for item in facts.records)
    states = [element.text for element in root.iter("{https://ptb.de/dcc}status")]
    assert set(states) == {"beforeAdjustment", "afterAdjustment"}


def test_site_facts_are_read_and_refused_in_sentences(tmp_path):
    assert read_site_facts(tmp_path) == SiteFacts()
    (tmp_path / "site.toml").write_text(
        'country = "gb"\nplac = "customer"\n[laboratory]\ncity = "x"\n', encoding="utf-8"
    )
    with pytest.raises(InputRefused) as refused:
        read_site_facts(tmp_path)
    said = str(refused.value)
    assert "ISO 3166-1 in two capital letters" in said
    assert "did you mean 'place'" in said
    assert "laboratory.name: found nothing" in said
    (tmp_path / "site.toml").write_text("country = ", encoding="utf-8")
    with pytest.raises(InputRefused, match="not TOML"):
        read_site_facts(tmp_path)


def test_results_files_and_certificates_agree_on_what_a_number_is(kept):
    entries = json.loads((kept["AUX-4-X11"][0].parents[1] / "results.json").read_text(encoding="utf-8"))["results"]
    gap = next(entry for entry in entries if entry["analysis"] == "gap-curve")
    certificate = read_certificate(certificate_bytes(facts_of(kept, "AUX-4-X11"), issued=TODAY))
    table = next(part for part in read_parts(certificate) if part.table == "incremental")
    assert table.columns["sensitivity"].values == tuple(row["sensitivity"] for row in gap["quantities"]["incremental"])
    assert table.columns["from"].units == (r"\milli\metre",)


@pytest.fixture
def certified(kept, tmp_path):
    """A channel's folder of records with its certificate."""
    folder = shutil.copytree(kept["FDF-3-V11"][0].parent, tmp_path / "FDF-3-V11")
    facts = gather_facts(records_in(folder), read_site_facts(DEMO))
    return write_certificate(facts, certificate_path(facts.records[0].path), today=TODAY, sheet=None).path


def test_verify_makes_the_results_of_a_certificate_again(certified):
    verified = verify_certificate(certified, Verifier())
    assert (verified.state, verified.said) == (None, ("results of 2 records as these have them",))
    assert is_certificate(certified)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (">pass<", ">fail<", "its results are not those"),
        ("<si:value>24.75<", "<si:value>24.76<", "its results are not those"),
        ('seal="', 'seal="0', "it names records that are not here"),
        ("<dcc:coreData>", "<dcc:coreDat>", "this is no certificate"),
        (r"\hertz", r"\hertzz", "no unit of D-SI"),
    ],
)
def test_a_certificate_that_was_changed_is_an_alarm(certified, before, after, said):
    text = certified.read_text(encoding="utf-8")
    assert before in text
    certified.write_text(text.replace(before, after), encoding="utf-8")
    verified = verify_certificate(certified, Verifier())
    assert verified.state is State.ALTERED
    assert any(said in fault for fault in verified.faults), verified.faults
