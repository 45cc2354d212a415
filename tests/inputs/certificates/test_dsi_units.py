r"""Units of D-SI. Published: SI Brochure, 9th edition, tables 4 and 8; pint as a second opinion."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vibcal_nb.inputs.certificates.dsi_units import _PREFIXES, _UNITS, DsiUnitRefused, dsi_text, parse_dsi
from vibcal_nb.inputs.certificates.numbers import (
    NumberRefused,
    number_text,
    plain_text,
    read_factors,
    read_numbers,
    read_probabilities,
)

REGISTRY = pint.UnitRegistry()
BASE = ("meter", "kilogram", "second", "ampere", "kelvin", "mole", "candela")
SPELLED = {"degreecelsius": "kelvin", "metre": "meter", "litre": "liter", "one": "dimensionless"}
NOT_IN_PINT = {"neper", "bel", "decibel"}


@pytest.mark.parametrize("name", sorted(set(_UNITS) - NOT_IN_PINT))
def test_a_unit_is_what_a_library_of_units_says(name):
    unit = parse_dsi(f"\\{name}")
    other = (1.0 * REGISTRY.Unit(SPELLED.get(name, name))).to_base_units()
    assert unit.factor == pytest.approx(other.magnitude, rel=1e-15)
    powers = dict(other.unit_items())
    assert unit.dimension == tuple(powers.get(base, 0) for base in BASE)


@pytest.mark.parametrize(("prefix", "power"), [("kilo", 3), ("milli", -3), ("micro", -6), ("pico", -12), ("giga", 9)])
def test_prefixes_of_the_si_brochure(prefix, power):
    assert parse_dsi(f"\\{prefix}\\volt").factor == pytest.approx(10.0**power, rel=1e-15)


@pytest.mark.parametrize(
    ("output", "given", "text"),
    [
        ("mV", "m/s2", r"\milli\volt\second\tothe{2}\metre\tothe{-1}"),
        ("pC", "m/s2", r"\pico\coulomb\second\tothe{2}\metre\tothe{-1}"),
        ("V", "mm", r"\volt\milli\metre\tothe{-1}"),
        ("mV", "um", r"\milli\volt\micro\metre\tothe{-1}"),
        ("mm/s", None, r"\milli\metre\second\tothe{-1}"),
        ("mm/s", "mm/s", r"\one"),
    ],
)
def test_units_of_the_trade_are_written(output, given, text):
    assert dsi_text(output, per=given) == text
    assert parse_dsi(text).text == text


def test_per_and_powers_are_read():
    assert parse_dsi(r"\volt\per\metre\tothe{2}").dimension == parse_dsi(r"\volt\metre\tothe{-2}").dimension
    assert parse_dsi(r"\degree").factor == math.pi / 180.0


@pytest.mark.parametrize(
    "text", ["", "V", r"\foo", r"\milli", r"\volt{2}", r"\volt\tothe{x}", r"\volt \metre", r"\per"]
)
def test_what_is_no_unit_is_refused(text):
    with pytest.raises(DsiUnitRefused):
        parse_dsi(text)


def test_standard_gravity_is_no_unit_of_dsi():
    with pytest.raises(DsiUnitRefused, match="'g', which D-SI lacks"):
        dsi_text("mV", per="g")


@given(
    st.lists(
        st.tuples(st.sampled_from(["", *_PREFIXES]), st.sampled_from(sorted(_UNITS)), st.integers(-3, 3).filter(bool)),
        min_size=1,
        max_size=4,
    )
)
def test_the_dimension_of_a_product_is_the_sum(parts):
    written = [f"{f'{chr(92)}{p}' if p else ''}\\{name}\\tothe{{{n}}}" for p, name, n in parts]
    singles = [parse_dsi(text).dimension for text in written]
    assert parse_dsi("".join(written)).dimension == tuple(map(sum, zip(*singles, strict=True)))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_is_read_back_equal(value):
    assert read_numbers(number_text(value)) == [value]


@given(st.floats(1.0, 100.0))
def test_a_coverage_factor_is_read_back_without_an_exponent(value):
    assert read_factors(plain_text(value)) == [pytest.approx(value, rel=1e-15)]


@pytest.mark.parametrize("text", ["1,5", "inf", "-INF", "nan", "0x1p3", "1_000", "−1", "np.float64(1)", "1e999"])
def test_what_is_no_number_of_the_schema_is_refused(text):
    with pytest.raises(NumberRefused):
        read_numbers(text)


def test_gaps_factors_and_probabilities():
    assert read_numbers("1 NaN .5 2. -3E2") == [1.0, None, 0.5, 2.0, -300.0]
    for read, text in (
        (read_factors, "0.9"),
        (read_factors, "2e0"),
        (read_probabilities, "95"),
        (number_text, math.inf),
    ):
        with pytest.raises(NumberRefused):
            read(text)
