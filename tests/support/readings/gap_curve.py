"""Gap curves made by hand: a probe, a micrometer, a voltmeter, and a case of any gaps and voltages."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from tests.support.readings.cases import CERTIFICATE, READOUT
from vibcal_nb.model.asset import Channel, GapCurveSpecification
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Reference
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.tolerance import Tolerance
from vibcal_nb.model.visit import Visit
from vibcal_nb.units import parse_gap_unit, parse_unit

GAPS = np.array([0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.25])
INCREMENTS = np.array([7.90, 7.95, 7.90, 7.87, 7.85, 7.80, 7.20, 7.60])  # V/mm
MICROMETER = Reference(
    id="MIC-1",
    kind="micrometer",
    quantity="displacement",
    expanded_um=2.0,
    k=2.0,
    drift_pct_per_year=0.0,
    **CERTIFICATE,
)
PROBE = GapCurveSpecification(
    input_unit=parse_gap_unit("mm"),
    output_unit=parse_unit("V dc"),
    nominal_sensitivity=-7.87,
    range=(0.25, 2.25),
    step=0.25,
    incremental_pct=5.0,
    deviation_um=25.4,
    rest_gap=1.25,
    rest_voltage=(-12.0, -8.0),
    target="42CrMo4",
)
SHAFT = Channel(
    tag="CMP-1-X1",
    input_unit=parse_unit("um pkpk"),
    output_unit=parse_unit("mV pkpk"),
    nominal_sensitivity=7.87,
    tolerance=Tolerance(reading_pct=5.0),
    gap_curve=PROBE,
)


def curve_of(increments, *, gaps=GAPS, first=-1.9, sign=-1.0):
    """Voltages (n,) at ``gaps`` whose slopes from gap to gap are ``sign`` times the increments, in V/mm."""
    return first + np.concatenate([[0.0], np.cumsum(sign * np.asarray(increments) * np.diff(gaps))])


def gap_case(voltage, *, gaps=GAPS, probe=PROBE, direction=None, exclude=None, decimals=6, unit="mm", readout=READOUT):
    """Return a case of one run, or of several where the arrays are lists of arrays, ``direction`` one of each."""
    runs = (
        [(gaps, voltage, direction)] if np.ndim(voltage[0]) == 0 else list(zip(gaps, voltage, direction, strict=True))
    )
    readings, row = [], 1
    for own_gaps, own_voltage, way in runs:
        for gap, volts in zip(own_gaps, own_voltage, strict=True):
            row += 1
            readings.append(
                Reading(
                    row=row,
                    channel=SHAFT.tag,
                    test="gap-curve",
                    condition="as-found",
                    frequency_hz=0.0,
                    applied=float(gap),
                    applied_unit=parse_gap_unit(unit),
                    output=float(volts),
                    output_unit=parse_unit("V dc"),
                    output_decimals=decimals,
                    direction=way,
                    exclude=(exclude or {}).get(row),
                )
            )
    return Case(
        asset_tag="CMP-1",
        asset_name="compressor",
        visit_name="2026-05-19",
        channel=replace(SHAFT, gap_curve=probe),
        test="gap-curve",
        condition="as-found",
        readings=tuple(readings),
        references=(MICROMETER,),
        readouts=(readout,),
        visit=Visit(date=date(2026, 5, 19), performed_by="Technician A", equipment=("MIC-1", "DVM-1")),
        table_file="readings.csv",
    )
