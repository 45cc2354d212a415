"""Common kinds of channel at the shaft, and at low speeds."""

from __future__ import annotations

from vibcal_nb.model.common_kinds.common_kind import CommonKind, filtered_band, flat_band, part

EDDY_CURRENT = CommonKind(
    name="eddy-current-shaft",
    about="Eddy-current probe with cable and driver, shaft against casing.",
    advice=(
        "The sensitivity belongs to the shaft's own material and to this length of cable: the target on the shaker is "
        "of the same material.",
        "The probe's gap at rest is set before the dynamic test, in the middle of its linear range.",
    ),
    values=part("um pkpk", "mV pkpk", 7.87) | {"band": flat_band(reference_hz=80, flat_hz=(10, 400))},
)

DOUBLE_INTEGRATION = CommonKind(
    name="double-integration-displacement",
    about="Accelerometer, integrated twice to the displacement of the casing.",
    advice=(
        "Integrating twice makes a sensitivity that falls with the square of frequency; small levels at high "
        "frequencies drown in noise.",
    ),
    values=part("um pkpk", "mV pkpk", 8.0)
    | {"band": filtered_band(reference_hz=50, flat_hz=(15, 200), corners_hz=(5, 1000))}
    | {"sensor": part("m/s2 pk", "mV pk", 10.2, **flat_band(reference_hz=80, flat_hz=(10, 2000)))},
)

LOW_FREQUENCY_HYDRO = CommonKind(
    name="low-frequency-hydro",
    about="Low-frequency displacement of a slow machine's bearing housing, as on a hydro unit.",
    advice=(
        "A long-stroke shaker is needed: at 2 Hz, 0.2 mm peak to peak is only 0.016 m/s2.",
        "The lowest frequencies take minutes to settle.",
    ),
    values=part("um pkpk", "mV pkpk", 8.0)
    | {"band": filtered_band(reference_hz=8, flat_hz=(2, 40), corners_hz=(0.7, 100))},
)
