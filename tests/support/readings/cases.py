"""Cases made by hand: readings over frequency of one channel or sensor, without any file."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import numpy as np
from hypothesis import HealthCheck, settings
from scipy import signal

from vibcal_nb.model.asset import BandSpecification, Channel, Rotor, SensorSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Readout, Reference, ReferenceBand
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.model.visit import Visit
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.units import convert, parse_unit

SHORT = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
CERTIFICATE = {"serial": "S1", "calibrated": date(2026, 1, 10), "due": date(2027, 1, 10)}
REFERENCE = Reference(
    id="REF-1",
    kind="reference accelerometer",
    uncertainty=(ReferenceBand(from_hz=1.0, to_hz=20_000.0, expanded_pct=1.0, k=2.0),),
    correlation=1.0,  # one error at all frequencies, so that closed forms stay short; other cases state their own
    **CERTIFICATE,
)
READOUT = Readout(id="DVM-1", kind="voltmeter", expanded_pct=0.2, k=2.0, drift_pct_per_year=0.0, **CERTIFICATE)
BAND = BandSpecification(
    reference_hz=80.0, flat_hz=(40.0, 200.0), flat_pct=5.0, corner_low_hz=20.0, corner_high_hz=400.0
)
SENSOR = SensorSpecification(
    input_unit=parse_unit("m/s2 pk"),
    output_unit=parse_unit("pC pk"),
    nominal_sensitivity=5.0,
    tolerance_pct=5.0,
    reference_hz=80.0,
    flat_hz=(20.0, 2000.0),
    flat_pct=5.0,
)
CHANNEL = Channel(
    tag="STG-1-V11",
    rotors=(Rotor(name="turbine", speed_hz=50.0), Rotor(name="pinion", speed_hz=149.0)),
    input_unit=parse_unit("mm/s pk"),
    output_unit=parse_unit("mV pk"),
    nominal_sensitivity=4.0,
    tolerance=Tolerance(reading_pct=5.0),
    band=BAND,
    sensor=SENSOR,
)


def make_case(test, frequency_hz, output, *, applied=10.0, units=None, channel=CHANNEL, exclude=None, decimals=None):
    """Return a case of one level over frequency: outputs (n,), reasons for exclusion by index."""
    part = {"sensor-alone": channel.sensor, "module-alone": channel.module}.get(test, channel)
    applied_unit, output_unit = units or (part.input_unit.text, part.output_unit.text)
    readings = tuple(
        Reading(
            row=row,
            channel=channel.tag,
            test=test,
            condition="as-found",
            frequency_hz=float(f),
            applied=float(x),
            applied_unit=parse_unit(applied_unit),
            applied_decimals=decimals,
            output=float(y),
            output_unit=parse_unit(output_unit),
            output_decimals=decimals,
            exclude=(exclude or {}).get(row - 2),
        )
        for row, (f, y, x) in enumerate(
            zip(frequency_hz, output, np.broadcast_to(applied, np.shape(output)), strict=True), start=2
        )
    )
    return Case(
        asset_tag="STG-1",
        asset_name="turbine",
        visit_name="2026-05-19",
        channel=channel,
        test=test,
        condition="as-found",
        readings=readings,
        references=(REFERENCE,),
        readouts=(READOUT,),
        visit=Visit(date=date(2026, 5, 19), performed_by="Technician A", equipment=("REF-1", "DVM-1")),
        table_file="readings.csv",
    )


def in_units(case, applied_units, output_unit):
    """Return the case with each level in another quantity at its own frequency, the output with another detector."""
    output = parse_unit(output_unit)
    readings = tuple(
        replace(
            r,
            applied=convert(r.applied, r.applied_unit, parse_unit(unit), frequency_hz=r.frequency_hz),
            applied_unit=parse_unit(unit),
            output=convert(r.output, r.output_unit, output),
            output_unit=output,
        )
        for r, unit in zip(case.readings, applied_units, strict=True)
    )
    return replace(case, readings=readings)


def butterworth(frequency_hz, *, low=None, high=None):
    """Magnitude of analogue Butterworth filters in series, by scipy.signal; ``low``, ``high``: (corner Hz, order)."""
    f = np.asarray(frequency_hz, float)
    magnitude = np.ones_like(f)
    for band, kind in ((low, "high"), (high, "low")):
        if band is not None:
            corner, order = band
            _, response = signal.freqs(*signal.butter(order, corner, kind, analog=True), worN=f)
            magnitude = magnitude * np.abs(response)
    return magnitude


def sane(result):
    """The entry is JSON without NaN, and every quantity that is null has its reason."""
    entry = json.loads(json.dumps(result_entry(result), allow_nan=False))
    for name, value in entry["quantities"].items():
        if value is None:
            assert entry["undetermined"][name]
    if entry["verdict"] == "not verified":
        assert result.not_verified or result.gates
    return entry
