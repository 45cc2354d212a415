"""All common kinds of channel, by name."""

from __future__ import annotations

from vibcal_nb.model.common_kinds import casing, shaft

COMMON_KINDS = {
    kind.name: kind
    for kind in (
        casing.CHARGE_VELOCITY,
        casing.CONSTANT_CURRENT,
        casing.MOVING_COIL,
        casing.LOOP_TRANSMITTER,
        shaft.EDDY_CURRENT,
        shaft.DOUBLE_INTEGRATION,
        shaft.LOW_FREQUENCY_HYDRO,
        casing.BROADBAND_ISO_2954,
        casing.TRIAXIAL,
        casing.US_UNITS,
    )
}
