"""What tests of simulated errors are made of."""

from __future__ import annotations

from tests.support.readings.cases import READOUT, REFERENCE, make_case
from vibcal_nb.analysis.planning.planned_case import Instruments


def instruments_of(case):
    return Instruments(visit=case.visit, references=(REFERENCE,), readouts=(READOUT,))


INSTRUMENTS = instruments_of(make_case("linearity", [50.0], [40.0]))
