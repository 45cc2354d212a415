"""One sensor at two national metrology institutes, published: its sign is counted the other way at the second.

Both files are of the public repository Met4FoF/datareceiver, see ``support.published``. Lines by numpy.polyfit.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

import vibcal_nb as vn
from tests.support.published.institute import INSTITUTE
from tests.support.published.second_institute import SECOND_INSTITUTE

F, FIRST, FIRST_DEG = INSTITUTE[:, 0], INSTITUTE[:, 1], INSTITUTE[:, 3]
SECOND, SECOND_DEG = SECOND_INSTITUTE[:, 1], np.degrees(SECOND_INSTITUTE[:, 3])
U_DEG = np.degrees(SECOND_INSTITUTE[:, 4])
CERTIFICATE = {"calibrated": date(2026, 1, 10), "due": date(2027, 1, 10)}
DVM = {"id": "DVM-1", "expanded_pct": 0.01, "k": 2, **CERTIFICATE}
CHANNEL = {
    "input_unit": "m/s2 pk",
    "output_unit": "mV pk",
    "nominal_sensitivity": 10.0,
    "tolerance_pct": 5.0,
    "band": {"reference_hz": 80, "flat_hz": [10, 250], "flat_pct": 1.0},
}


def band(frame, *, unit, reference, polarity, flat=None):
    """Band response of the second institute's results."""
    channel = CHANNEL | {"phase": {"polarity": polarity}} | ({} if flat is None else {"band": flat})
    kit = {"equipment": {"reference": [reference | CERTIFICATE], "readout": [DVM]}, "date": "2026-05-19"}
    frame = {"frequency_hz": F, "output": 100.0 * SECOND} | frame
    return vn.band_response(frame, channel=channel, applied_unit=unit, output_unit="mV pk", **kit)


def test_the_second_institutes_polarity_is_the_other_and_its_delay_the_same():
    reference = {"id": "REF-2", "uncertainty": [{"from_hz": 5, "to_hz": 300, "expanded_pct": 0.2, "k": 2}]}
    frame = {"applied": np.full(F.size, 10.0), "phase_deg": SECOND_DEG, "phase_standard_uncertainty_deg": U_DEG}
    flat = {"reference_hz": 80, "flat_hz": [40, 80], "flat_pct": 5.0}
    result = band(frame, unit="m/s2 pk", reference=reference, polarity="-", flat=flat)
    slope, intercept = np.polyfit(F, SECOND_DEG, 1)
    assert (result.verdict, result.phase.polarity) == ("pass", "-")
    assert result.phase.delay_ms.value == pytest.approx(-slope / 0.36, abs=2e-4)
    assert result.phase.delay_ms.value == pytest.approx(1.5110, abs=2e-3)  # the first institute's
    assert abs(result.phase.intercept_deg.value) == pytest.approx(abs(intercept), abs=0.02)


def test_back_to_back_the_two_calibrations_are_of_one_sensor():
    """The sensor with the first institute's table is the reference; the second's interferometer is what is tested.

    The sensor's output there was the second's sensitivity times the level: the interferometer is found to be flat, off
    by what the institutes differ, and turned round.
    """
    columns = zip(F.tolist(), FIRST.tolist(), FIRST_DEG.tolist(), strict=True)
    known = {"expanded_pct": 0.05, "k": 2, "phase_expanded_deg": 0.1}
    points = [{"hz": f, "value": s, "phase_deg": deg, **known} for f, s, deg in columns]
    sensitivity = {"unit": "mV/(m/s2)", "correlation": 0.5, "table": points}
    reference = {"id": "REF-1", "read_by": "DVM-1", "sensitivity": sensitivity}
    frame = {"applied": 10.0 * SECOND, "phase_deg": -SECOND_DEG, "reference": ["REF-1"] * F.size}
    frame["output"] = np.full(F.size, 100.0)
    result = band(frame, unit="mV pk", reference=reference, polarity="+")
    assert (result.verdict, result.phase.polarity) == ("fail", "-")  # against + as stated: reversed
    assert max(abs(point.value_pct - 100.0) for point in result.points) < 0.3
    sensitivity_off = 100.0 * (result.reference_sensitivity / 10.0 - 1.0)
    assert sensitivity_off == pytest.approx(100.0 * (FIRST[11] / SECOND[11] - 1.0), abs=1e-6)
    assert abs(sensitivity_off) < 0.35
    assert abs(result.phase.delay_ms.value) < 2e-3
    assert abs(abs(result.phase.intercept_deg.value) - 180.0) < 0.1
