"""Units: what is understood, what is refused and in which sentence, and the laws every conversion obeys."""

from __future__ import annotations

import math
import pickle
import re
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from vibcal_nb.units import (
    UnitError,
    convert,
    convert_sensitivity,
    hz_from_rpm,
    is_convertible,
    parse_unit,
    rpm_from_hz,
)

VIBRATION = ["m/s2", "g", "m/s", "mm/s", "in/s", "m", "mm", "um", "in", "mil"]
ELECTRICAL = ["V", "mV", "A", "mA", "uA", "nC", "pC"]
DETECTORS = ["pk", "rms", "pkpk"]
SINES = [parse_unit(f"{symbol} {detector}") for symbol, detector in product(VIBRATION + ELECTRICAL, DETECTORS)]
STEADY = [parse_unit(f"{symbol} dc") for symbol in ("V", "mV", "A", "mA")]
SENTENCE = re.compile(r"found .+; give .+\.")


def refusal(call, *arguments, **keywords) -> str:
    with pytest.raises(UnitError) as caught:
        call(*arguments, **keywords)
    text = str(caught.value)
    assert SENTENCE.fullmatch(text), text
    assert text == f"found {caught.value.found}; {caught.value.remedy}."
    return text


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("mm/s pk", "mm/s pk"),
        ("mm/s peak", "mm/s pk"),
        ("mm/s 0-pk", "mm/s pk"),
        ("mm/s (0-p)", "mm/s pk"),
        ("mm/s RMS", "mm/s rms"),
        ("mm/sec r.m.s.", "mm/s rms"),
        ("mm/s_rms", "mm/s rms"),
        ("µm p-p", "um pkpk"),  # micro sign
        ("μm pk-pk", "um pkpk"),  # Greek mu
        ("um peak-to-peak", "um pkpk"),
        ("micron pp", "um pkpk"),
        ("mils p-p", "mil pkpk"),
        ("m/s² pk", "m/s2 pk"),
        ("m/s^2 pk", "m/s2 pk"),
        ("m s-2 pk", "m/s2 pk"),
        ("m·s-2 rms", "m/s2 rms"),
        ("G pk", "g pk"),
        ("gn rms", "g rms"),
        ("ips pk", "in/s pk"),
        ("in/sec peak", "in/s pk"),
        ("IPS rms", "in/s rms"),
        ("Vrms", "V rms"),
        ("mVpk", "mV pk"),
        ("mA DC", "mA dc"),
        ("V d.c.", "V dc"),
        ("  pC   pk ", "pC pk"),
    ],
)
def test_spellings_of_the_trade(written, meant):
    assert parse_unit(written).text == meant


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("mm/s", "give the detector too, one of mm/s pk, mm/s rms, mm/s pkpk"),
        ("g", "one of g pk, g rms, g pkpk"),
        ("mV", "one of mV pk, mV rms, mV pkpk, mV dc"),
        ("pC", "one of pC pk, pC rms, pC pkpk"),
        ("mm/s dc", "give one of mm/s pk, mm/s rms, mm/s pkpk"),  # a vibration does not stand still
        ("pC dc", "give one of pC pk, pC rms, pC pkpk"),
        ("furlong pk", "give one of m/s2, g, m/s, mm/s"),
        ("km/h", "then a detector pk, rms, pkpk or dc, such as 'mm/s pk'"),
        ("", "give one of"),
        ("pk", "give one of"),
        ("mm/s avg", "give one of"),
        ("MV pk", "give one of"),  # a million volts or a thousandth: a prefix's case is not guessed
        ("Mm/s pk", "give one of"),
        ("mg pk", "give one of"),
        ("mm/s pk rms", "give one of"),
    ],
)
def test_what_is_refused_says_what_would_be_accepted(written, said):
    text = refusal(parse_unit, written)
    assert repr(written) in text
    assert said in text


@pytest.mark.parametrize(
    ("from_unit", "to_unit", "frequency_hz", "said"),
    [
        ("mV pk", "mm/s pk", 80.0, "give an acceleration, velocity or displacement with its detector"),
        ("mm/s pk", "mV pk", 80.0, "give a voltage in V or mV with detector pk, rms or pkpk, such as 'mV pk'"),
        ("pC pk", "mV pk", None, "give a voltage in V or mV"),
        ("mA dc", "mA rms", None, "give a current in A or mA or uA with detector pk, rms or pkpk"),
        ("mA rms", "mA dc", None, "give a current in A or mA or uA with detector dc, such as 'mA dc'"),
        ("g pk", "mm/s pk", None, "give the frequency in Hz"),
        ("g pk", "mm/s pk", 0.0, "give a frequency above 0 Hz"),
        ("g pk", "mm/s pk", -80.0, "give a frequency above 0 Hz"),
        ("g pk", "mm/s pk", math.nan, "give a frequency above 0 Hz"),
        ("g pk", "mm/s pk", math.inf, "give a frequency above 0 Hz"),
    ],
)
def test_conversions_that_mean_nothing(from_unit, to_unit, frequency_hz, said):
    assert said in refusal(convert, 1.0, parse_unit(from_unit), parse_unit(to_unit), frequency_hz=frequency_hz)


@pytest.mark.parametrize(("level", "frequency_hz"), [(math.nan, 80.0), (math.inf, 80.0), (1e300, 1e-200)])
def test_nothing_but_finite_levels_come_out(level, frequency_hz):
    assert "give finite levels" in refusal(
        convert, level, parse_unit("g pk"), parse_unit("um pk"), frequency_hz=frequency_hz
    )
    if not math.isfinite(level):  # also where nothing is to be converted
        assert "give finite levels" in refusal(convert, level, parse_unit("g pk"), parse_unit("g pk"))


def test_one_bad_frequency_among_many_is_refused():
    with pytest.raises(UnitError, match="frequency"):
        convert(np.ones(3), parse_unit("g pk"), parse_unit("mm/s pk"), frequency_hz=np.array([10.0, 0.0, 20.0]))


def test_an_error_crosses_process_borders():
    with pytest.raises(UnitError) as caught:
        parse_unit("mm/s")
    again = pickle.loads(pickle.dumps(caught.value))
    assert (str(again), again.found, again.remedy) == (str(caught.value), caught.value.found, caught.value.remedy)


@pytest.mark.parametrize(
    ("value", "from_units", "to_units", "frequency_hz", "expected"),
    [
        (100.0, ("mV pk", "in/s pk"), ("mV pk", "mm/s pk"), None, 100.0 / 25.4),
        (50.0, ("pC pk", "g pk"), ("pC pk", "m/s2 pk"), None, 50.0 / 9.80665),
        (10.2, ("mV pk", "m/s2 pk"), ("V pk", "g pk"), None, 10.2e-3 * 9.80665),
        (4.0, ("mV pk", "mm/s pk"), ("mV rms", "mm/s rms"), None, 4.0),
        (4.0, ("mV pk", "mm/s pk"), ("mV rms", "mm/s pk"), None, 4.0 / math.sqrt(2.0)),
        (4.0, ("mV pk", "mm/s pk"), ("mV pkpk", "mm/s rms"), None, 4.0 * 2.0 * math.sqrt(2.0)),
        # 16 mA over 25 mm/s rms: a dc output standing for an rms level
        (0.64, ("mA dc", "mm/s rms"), ("mA dc", "in/s pk"), None, 0.64 * 25.4 / math.sqrt(2.0)),
        (0.64, ("mA dc", "mm/s rms"), ("A dc", "m/s rms"), None, 0.64),
        # at 159.15 Hz, omega = 1000 rad/s: 1 m/s2 is 1 mm/s
        (10.2, ("mV pk", "m/s2 pk"), ("mV pk", "mm/s pk"), 500.0 / math.pi, 10.2),
    ],
)
def test_sensitivities(value, from_units, to_units, frequency_hz, expected):
    result = convert_sensitivity(
        value,
        from_output=parse_unit(from_units[0]),
        from_input=parse_unit(from_units[1]),
        to_output=parse_unit(to_units[0]),
        to_input=parse_unit(to_units[1]),
        frequency_hz=frequency_hz,
    )
    assert isinstance(result, float)
    assert result == pytest.approx(expected, rel=1e-14)


def test_a_sensitivity_between_unlike_quantities_is_refused():
    units = {"from_input": parse_unit("g pk"), "to_input": parse_unit("mm/s pk")}
    pc, mv = parse_unit("pC pk"), parse_unit("mV pk")
    assert "voltage" in refusal(convert_sensitivity, 5.0, from_output=pc, to_output=mv, **units)
    assert "give the frequency" in refusal(convert_sensitivity, 5.0, from_output=mv, to_output=mv, **units)


def test_sensitivity_over_frequency_is_an_array():
    frequency = np.array([50.0, 100.0, 200.0])
    units = {"from_output": parse_unit("mV pk"), "to_output": parse_unit("mV pk")}
    result = convert_sensitivity(
        10.0,
        from_input=parse_unit("m/s2 pk"),
        to_input=parse_unit("m/s pk"),
        frequency_hz=frequency,
        **units,
    )
    np.testing.assert_allclose(result, 10.0 * 2.0 * np.pi * frequency, rtol=1e-14)


sines = st.sampled_from(SINES)
levels = st.floats(1e-6, 1e6)
frequencies = st.floats(0.1, 1e5)


@given(sines, sines, levels, frequencies)
def test_there_and_back(here, there, level, frequency_hz):
    assume(is_convertible(here, there))
    away = convert(level, here, there, frequency_hz=frequency_hz)
    assert convert(away, there, here, frequency_hz=frequency_hz) == pytest.approx(level, rel=1e-13)


def alike(here):
    return st.sampled_from([unit for unit in SINES if is_convertible(here, unit)])


trios = sines.flatmap(lambda here: st.tuples(st.just(here), alike(here), alike(here)))


@given(trios, levels, frequencies)
def test_a_detour_changes_nothing(trio, level, frequency_hz):
    here, middle, there = trio
    straight = convert(level, here, there, frequency_hz=frequency_hz)
    detour = convert(convert(level, here, middle, frequency_hz=frequency_hz), middle, there, frequency_hz=frequency_hz)
    assert detour == pytest.approx(straight, rel=1e-13)


@given(sines, sines, levels, st.floats(-1e3, 1e3), frequencies)
def test_conversion_is_proportional(here, there, level, factor, frequency_hz):
    assume(is_convertible(here, there))
    once = convert(level, here, there, frequency_hz=frequency_hz)
    assert convert(factor * level, here, there, frequency_hz=frequency_hz) == pytest.approx(factor * once, rel=1e-13)


@given(st.sampled_from(VIBRATION), st.sampled_from(VIBRATION), st.sampled_from(DETECTORS), levels, frequencies)
def test_the_detector_of_both_sides_cancels(here, there, detector, level, frequency_hz):
    peak = convert(level, parse_unit(f"{here} pk"), parse_unit(f"{there} pk"), frequency_hz=frequency_hz)
    other = convert(
        level, parse_unit(f"{here} {detector}"), parse_unit(f"{there} {detector}"), frequency_hz=frequency_hz
    )
    assert other == pytest.approx(peak, rel=1e-13)


@given(st.lists(st.tuples(levels, frequencies), min_size=1, max_size=5), sines, sines)
def test_arrays_convert_as_their_members_do(pairs, here, there):
    assume(is_convertible(here, there))
    level, frequency = (np.array(column) for column in zip(*pairs, strict=True))
    together = convert(level, here, there, frequency_hz=frequency)
    apart = [convert(x, here, there, frequency_hz=f) for x, f in pairs]
    np.testing.assert_allclose(together, apart, rtol=1e-14)


@given(levels, st.sampled_from(STEADY), st.sampled_from(STEADY), sines)
def test_dc_converts_to_dc_and_to_nothing_else(level, here, there, sine):
    assert not is_convertible(here, sine) and not is_convertible(sine, here)
    with pytest.raises(UnitError):
        convert(level, here, sine, frequency_hz=80.0)
    if here.quantity == there.quantity:
        assert convert(convert(level, here, there), there, here) == pytest.approx(level, rel=1e-14)


@given(
    st.floats(1e-3, 1e3),
    st.sampled_from([u for u in SINES if u.quantity == "voltage"]),
    st.sampled_from([u for u in SINES if u.is_vibration]),
    st.sampled_from([u for u in SINES if u.is_vibration]),
    levels,
    frequencies,
)
def test_a_converted_sensitivity_gives_the_same_output(gain, output, here, there, level, frequency_hz):
    """Output = sensitivity x level, whichever unit the level is given in."""
    mv = parse_unit("mV pk")
    other = convert_sensitivity(
        gain, from_output=mv, from_input=here, to_output=output, to_input=there, frequency_hz=frequency_hz
    )
    direct = convert(gain * level, mv, output)
    assert other * convert(level, here, there, frequency_hz=frequency_hz) == pytest.approx(direct, rel=1e-12)


@given(st.floats(1e-3, 1e7))
def test_rpm_there_and_back(rpm):
    assert rpm_from_hz(hz_from_rpm(rpm)) == pytest.approx(rpm, rel=1e-15)
    np.testing.assert_allclose(hz_from_rpm(np.array([rpm, 60.0])), [rpm / 60.0, 1.0])


@given(st.text(max_size=12))
def test_any_text_is_a_unit_or_a_sentence(text):
    try:
        unit = parse_unit(text)
    except UnitError as error:
        assert SENTENCE.fullmatch(str(error).replace("\n", " "))
    else:
        assert parse_unit(unit.text) == unit
