"""Certificates read: five shapes of a sensitivity over frequency, and whatever else a file may hold."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support import certificates as made
from vibcal_nb.inputs.certificates.read_certificate import (
    CertificateRefused,
    read_certificate,
    read_certificate_file,
)
from vibcal_nb.inputs.certificates.rules import certificate_problems
from vibcal_nb.inputs.certificates.sensitivity import find_sensitivity

needs_schemas = pytest.mark.skipif(made.schema_folder() is None, reason="DCC_SCHEMAS names no folder of schemas")


@pytest.mark.parametrize("shape", made.SHAPES)
def test_each_shape_gives_the_same_sensitivity(shape):
    found = find_sensitivity(read_certificate(made.SHAPES[shape]()))
    assert found.unit == "V/(m/s2)"
    assert [point.hz for point in found.points] == list(made.HZ)
    assert [point.value for point in found.points] == pytest.approx([v / 1000.0 for v in made.VALUES], rel=1e-14)
    assert [point.phase_deg for point in found.points] == pytest.approx(list(made.DEGREES), abs=1e-8)
    u = [point.expanded_pct / point.k for point in found.points]
    assert u == pytest.approx([made.PCT / made.K] * len(made.HZ), rel=1e-12)


@needs_schemas
@pytest.mark.parametrize("shape", made.SHAPES)
def test_each_shape_is_valid_by_both_validators(shape):
    assert made.schema_problems(made.SHAPES[shape]()) == []


@pytest.mark.parametrize("shape", made.SHAPES)
def test_our_own_rules_find_nothing_in_a_good_certificate(shape):
    assert certificate_problems(made.SHAPES[shape]()) == []


def test_the_facts_of_a_certificate():
    found = read_certificate(made.lists(), file="REF.xml")
    assert (found.identifier, found.laboratory) == ("KF-CAL-0417", "Calibration workshop")
    assert (found.begin, found.end, found.due) == (date(2025, 6, 30), date(2025, 7, 1), None)
    assert found.serials == ("KF-0417",)
    assert found.methods == ("comparison, ISO 16063-21:2003",)
    assert len(found.sha256) == 64


def test_a_phase_may_be_missing():
    points = find_sensitivity(read_certificate(made.lists(phase=False))).points
    assert {point.phase_deg for point in points} == {None}


def test_a_list_of_one_holds_for_all():
    one = made.expanded(made.VALUES[:1])
    points = find_sensitivity(read_certificate(made.lists(uncertainty=one))).points
    U = [point.expanded_pct * point.value for point in points]
    assert pytest.approx([U[0]] * len(made.HZ)) == U


def test_a_gap_leaves_that_frequency_out():
    data = made.lists().replace(b"10.28 10.25", b"NaN 10.25")
    assert [point.hz for point in find_sensitivity(read_certificate(data)).points] == [
        10.0,
        80.0,
        160.0,
        1000.0,
        5000.0,
    ]


@pytest.mark.parametrize("version", ["3.0.0", "3.1.2", "3.2.1"])
def test_earlier_versions_are_read(version):
    assert read_certificate(made.lists(deprecated=True, version=version)).schema_version == version


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (made.lists(uncertainty=made.expanded(made.VALUES[:3])), "3 expanded uncertainties for 6 values"),
        (made.lists(uncertainty="").replace(b"x_sensitivity", b"x_s"), "no uncertainty"),
        (made.hybrid(wrong=1.01), "a hybrid whose parts differ"),
        (made.lists().replace(b"10.28 10.25", b"10,28 10.25"), "in place of a number"),
        (made.lists().replace(rb"\hertz", rb"\foo"), "no sensitivity over frequency"),
        (made.lists().replace(b"5000.0", b"1000.0"), "one frequency twice"),
        (made.lists(version="9.9.9"), "schema version '9.9.9'"),
        (made.lists().replace(b"2025-07-01", b"01.07.2025"), "which is no day"),
        (made.certificate(made.quantity("x_mass", "mass", made.real_list((1.0, 2.0), r"\gram"))), "no sensitivity"),
        (b"<a/>", "in place of a Digital Calibration Certificate"),
        (b"", "no XML"),
        (b"PK\x03\x04", "no XML"),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_sentence(data, said):
    with pytest.raises(CertificateRefused, match=said.replace("(", r"\(")) as refused:
        find_sensitivity(read_certificate(data, file="REF.xml"))
    assert str(refused.value).startswith("REF.xml: found ")
    assert "\n" not in str(refused.value)


def test_two_tables_are_told_by_their_names():
    one = made.lists().decode().partition("<dcc:data><dcc:list")[2].rpartition("</dcc:data>")[0]
    with pytest.raises(CertificateRefused, match="2 tables of sensitivity"):
        find_sensitivity(read_certificate(made.certificate(f"<dcc:list{one}<dcc:list{one}")))


BOMB = b'<!DOCTYPE b [<!ENTITY a "aaaaaaaaaa">' + b"".join(
    b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10 if n else b"&a;" * 10) for n in range(9)
)


@pytest.mark.parametrize(
    "data",
    [
        BOMB + b"]><b>&a8;</b>",
        b'<!DOCTYPE b [<!ENTITY x SYSTEM "file:///etc/passwd">]><b>&x;</b>',
        b'<!DOCTYPE b SYSTEM "http://example.org/x.dtd"><b/>',
        b'<!DOCTYPE b [<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]><b/>',
    ],
)
def test_declarations_are_refused_before_anything_is_expanded(data):
    with pytest.raises(CertificateRefused, match="a declaration of document types or entities"):
        read_certificate(data)


def test_depth_and_count_are_bounded():
    with pytest.raises(CertificateRefused, match="nested more than 100 deep"):
        read_certificate(b"<a>" * 5000 + b"</a>" * 5000)
    with pytest.raises(CertificateRefused, match="more elements or attributes"):
        read_certificate(b"<a>" + b"<b/>" * 500_001 + b"</a>")


@given(st.data())
def test_whatever_the_bytes_are_there_is_a_certificate_or_a_sentence(data):
    whole = made.SHAPES[data.draw(st.sampled_from(sorted(made.SHAPES)))]()
    start = data.draw(st.integers(0, len(whole)))
    end = data.draw(st.integers(start, min(len(whole), start + 60)))
    changed = whole[:start] + data.draw(st.one_of(st.binary(max_size=8), st.just(b"NaN"), st.just(b"-1"))) + whole[end:]
    certificate_problems(changed)
    try:
        find_sensitivity(read_certificate(changed))
    except CertificateRefused as refused:
        assert str(refused).endswith(".")


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(CertificateRefused, match="found no such file"):
        read_certificate_file(tmp_path / "none.xml")
    (tmp_path / "some.xml").write_bytes(made.lists())
    assert read_certificate_file(tmp_path / "some.xml").serials == ("KF-0417",)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (b"2025-06-30", b"2025-07-02", "is before beginPerformanceDate"),
        (b'lang="en">bench', b'lang="de">bench', "undeclared language 'de'"),
        (b'lang="en">bench', b">bench", "states no language"),
        (b"ISO639_1>en</dcc:used", b"ISO639_1>xx</dcc:used", "is none of ISO 639-1"),
        (b">GB<", b">XX<", "is none of ISO 3166-1"),
        (b"v1.0<", b"one<", "is no version"),
        (b"5000.0<", b"5000.0 6000.0<", "values in a list of"),
        (b'refType="vib_phase"', b'refId="nowhere"', "leads nowhere"),
        (rb"\hertz", rb"\Hertz", "no unit of D-SI"),
        (b"0.95<", b"95<", "a probability from 0 to 1"),
        (b"<si:coverageFactorXMLList>2.0", b"<si:coverageFactorXMLList>0.5", "a coverage factor of 1 or more"),
        (b"<dcc:value>KF-0417</dcc:value>", b"", None),
        (b"influenceConditions>", b"influenceOthers>", "no influenceConditions"),
        (b"<dcc:city>Kestrel Fold</dcc:city></dcc:location></dcc:customer>", b"</dcc:location></dcc:customer>", None),
        (b"dcc:customer>", b"dcc:customers>", "administrativeData/customer/name is missing"),
    ],
)
def test_each_rule_names_what_breaks_it(before, after, said):
    whole = made.lists()
    assert before in whole
    problems = certificate_problems(whole.replace(before, after))
    assert said is None or any(said in problem for problem in problems), problems
