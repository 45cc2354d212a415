"""Common kinds of channel on the casing: accelerometers, moving coils, transmitters, broadband monitors."""

from __future__ import annotations

from vibcal_nb.model.common_kinds.common_kind import CommonKind, filtered_band, flat_band, opened, part

CHARGE_VELOCITY = CommonKind(
    name="charge-velocity",
    about="Charge accelerometer, with a converter that integrates to velocity.",
    advice=(
        "The converter's nominal_sensitivity holds at its reference_hz: integration makes it fall with frequency.",
        "A hot sensor is tested with its own hardline cable, bent no tighter than its maker allows.",
    ),
    values=part("mm/s pk", "mV pk", 4.0)
    | {"band": filtered_band(reference_hz=80, flat_hz=(40, 200), corners_hz=(20, 400))}
    | {"sensor": part("m/s2 pk", "pC pk", 5.0, **flat_band(reference_hz=80, flat_hz=(20, 400)))}
    | {"module": part("pC pk", "mV pk", 1.5915, reference_hz=opened(80))},
)

CONSTANT_CURRENT = CommonKind(
    name="constant-current-acceleration",
    about="Accelerometer with built-in electronics, fed by a constant current over two wires.",
    advice=("Readings need the supply of the channel itself; its bias voltage tells a broken or shorted cable.",),
    values=part("m/s2 pk", "mV pk", 10.2) | {"band": flat_band(reference_hz=80, flat_hz=(10, 2000))},
)

MOVING_COIL = CommonKind(
    name="moving-coil-velocity",
    about="Self-generating velocity sensor: a coil on a spring in a magnet's field.",
    advice=(
        "It is tested in the direction in which it is mounted: the spring sags otherwise.",
        "Below its natural frequency the output falls; damping is that of the load it was adjusted with.",
    ),
    values=part("mm/s pk", "mV pk", 20.0)
    | {"band": flat_band(reference_hz=80, flat_hz=(20, 1000))}
    | {
        "sensor": part("mm/s pk", "mV pk", 20.0, **flat_band(reference_hz=80, flat_hz=(20, 1000)))
        | {"natural_frequency_hz": opened([7.0, 9.0]), "damping_ratio": opened([0.6, 0.8])}
    },
)

LOOP_TRANSMITTER = CommonKind(
    name="loop-velocity",
    about="Velocity transmitter, 4 to 20 mA over its two supply wires.",
    advice=(
        "nominal_sensitivity is 16 mA divided by full_scale.",
        "Breaking the loop may trip the machine; in a hazardous area the rules for intrinsically safe circuits apply.",
    ),
    values={
        "input_unit": "mm/s rms",
        "output_unit": "mA dc",
        "nominal_sensitivity": opened(0.64),
        "output_zero": 4.0,
        "full_scale": opened(25.0),
        "tolerance": opened({"reading_pct": 5.0, "span_pct": 0.5, "rule": "larger"}),
        "zero": opened({"tolerance_span_pct": 0.5}),
        "band": filtered_band(reference_hz=80, flat_hz=(20, 500), corners_hz=(10, 1000)),
    },
)

# ISO 2954:1975, relative sensitivity by frequency (from memory and second-hand copies of the table)
_ISO_2954_1975 = ((10, 80, 110), (20, 90, 110), (40, 90, 110), (160, 90, 110), (500, 90, 110), (1000, 80, 110))

BROADBAND_ISO_2954 = CommonKind(
    name="broadband-iso-2954",
    about="Broadband velocity monitor, 10 to 1000 Hz, with the response limits of ISO 2954:1975.",
    advice=(
        "ISO 2954:2012 prescribes third-order filters with corners at 10 and 1000 Hz, which read 71 % there: for them "
        "state corner_low_hz and corner_high_hz in place of the limits at 10 and 1000 Hz.",
    ),
    values=part("mm/s rms", "V dc", 0.2)
    | {
        "band": {
            "reference_hz": 80,
            "limits": [{"hz": hz, "min_pct": low, "max_pct": high} for hz, low, high in _ISO_2954_1975],
        }
    },
)

TRIAXIAL = CommonKind(
    name="triaxial-acceleration",
    about="Accelerometer for three axes in one case: three channels, each driven along its own axis.",
    advice=("It is mounted three times; transverse_pct tells how much an axis reads of the others.",),
    values=part("m/s2 pk", "mV pk", 10.2)
    | {"transverse_pct": opened(5.0), "band": flat_band(reference_hz=80, flat_hz=(10, 2000))},
    axes=("X", "Y", "Z"),
)

US_UNITS = CommonKind(
    name="us-units-velocity",
    about="Velocity sensor with built-in electronics, in inches a second.",
    advice=("Alert and trip are in in/s pk here; a shaker that shows mm/s is read in mm/s, and converted exactly.",),
    values=part("in/s pk", "mV pk", 100.0) | {"band": flat_band(reference_hz=80, flat_hz=(10, 1000))},
)
