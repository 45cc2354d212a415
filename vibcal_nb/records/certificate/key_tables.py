"""What the keys of an entry of results are: the unit of the number, its refType, whose uncertainty it is.

Units follow from how a key ends (``_hz``, ``_pct``, ``_db``, ``_um``, ``_s``, ``_deg``); what has no such ending is in
the channel's own units, by the tables below. A published refType stands where one was found, beside a private one that
carries the key itself: ``x_`` and the key.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from vibcal_nb.model.names import (
    BAND_RESPONSE,
    CHANNEL_VERDICT,
    ELECTRICAL,
    GAP_CURVE,
    INDICATION,
    LINEARITY,
    SENSOR_ALONE,
    SET_POINTS,
)

Of = Literal["sensitivity", "output", "input", "number", "own"]

_ENDINGS = (
    ("_pct", "%"),
    ("_hz", "Hz"),
    ("_db", "dB"),
    ("_deg", "°"),
    ("_um", "um"),
    ("_ms", "ms"),
    ("_s", "s"),
)
_SENSITIVITY = {"sensitivity", "reference_sensitivity", "average_sensitivity", "least_squares_sensitivity"}
_OUTPUT = {"output", "intercept", "u_intercept", "rest_voltage", "rest_voltage_expanded_uncertainty"}
_INPUT = {
    "applied", "max_applied", "set_level", "highest_not_acted", "lowest_acted", "estimate", "u_bracket",
    "standard_uncertainty", "release", "hysteresis", "true_level", "highest_level", "extrapolated_level",
    "extrapolation_adds", "from", "to", "linear_range", "rest_gap", "indicated", "error", "full_scale", "display_step",
}  # fmt: skip
_OWN = {"value", "min", "max"}
_SENSITIVITIES_U = {"average_expanded_uncertainty", "least_squares_expanded_uncertainty"}
_LEVEL_U = (SET_POINTS, CHANNEL_VERDICT)

LEFT_OUT = ("effective_degrees_of_freedom", "undetermined", "unit")
"""What no quantity of a certificate is: degrees of freedom, which k already allows for, and what words tell."""

PUBLISHED = {
    "frequency_hz": "vib_frequency",
    "deviation_pct": "basic_measurementError",
    "error": "basic_measurementError",
    "error_span_pct": "basic_measurementError",
    "indicated": "basic_measuredValue",
    "output": "basic_measuredValue",
    "applied": "basic_referenceValue",
    "min_pct": "basic_toleranceLimitLower",
    "max_pct": "basic_toleranceLimitUpper",
    "min": "basic_toleranceLimitLower",
    "max": "basic_toleranceLimitUpper",
    "verdict": "basic_conformity",
    "phase_deg": "vib_phase",
}

INDEX = ("frequency_hz", "from", "set_point", "item", "row", "rotor")
"""Keys by which the rows of a table are told apart, the first that a table has."""


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A number and the keys of its U and k; where ``scale`` is given, in rows of that scale alone."""

    key: str
    U: str
    k: str
    scale: str | None = None
    of_value: bool = False
    """Whether U is stated in % of the value."""


_LINE = (
    Pair(key="sensitivity", U="expanded_uncertainty", k="k"),
    Pair(key="deviation_pct", U="expanded_uncertainty_pct", k="k", scale="reading"),
    Pair(key="error_span_pct", U="expanded_uncertainty_pct", k="k", scale="span"),
)
PAIRS: Mapping[str, tuple[Pair, ...]] = {
    LINEARITY: _LINE,
    INDICATION: _LINE,
    BAND_RESPONSE: (
        Pair(key="response_pct", U="expanded_uncertainty_pct", k="k"),
        Pair(key="flat_worst_pct", U="flat_worst_expanded_uncertainty_pct", k="flat_worst_k"),
        Pair(key="corner_low_hz", U="corner_low_expanded_uncertainty_pct", k="corner_low_k", of_value=True),
        Pair(key="corner_high_hz", U="corner_high_expanded_uncertainty_pct", k="corner_high_k", of_value=True),
    ),
    SENSOR_ALONE: (
        Pair(key="reference_sensitivity", U="expanded_uncertainty", k="k"),
        Pair(key="worst_deviation_pct", U="worst_deviation_expanded_uncertainty_pct", k="worst_deviation_k"),
        Pair(key="deviation_pct", U="expanded_uncertainty_pct", k="k"),
    ),
    GAP_CURVE: (Pair(key="deviation_pct", U="expanded_uncertainty_pct", k="k"),),
    SET_POINTS: (Pair(key="estimate", U="expanded_uncertainty", k="k"),),
    CHANNEL_VERDICT: (Pair(key="true_level", U="expanded_uncertainty", k="k"),),
}

_NAMES = {
    "frequency_hz": "frequency",
    "applied": "applied level",
    "output": "output less the output zero",
    "deviation_pct": "deviation",
    "error_span_pct": "error in percent of span",
    "response_pct": "response relative to the reference frequency",
    "response_db": "response relative to the reference frequency, in decibels",
    "min_pct": "lower limit",
    "max_pct": "upper limit",
    "min": "lower limit",
    "max": "upper limit",
    "k": "coverage factor",
    "u_intercept": "standard uncertainty of the intercept",
    "u_bracket": "standard uncertainty of the bracket",
    "row": "row of the reading table",
    "excluded": "used or excluded",
    "scale": "percent of what",
    "from": "from gap",
    "to": "to gap",
    "max_applied": "highest level used",
    "probability_of_conformity": "probability of conformity",
}


def name_of(key: str) -> str:
    """What a person would call a number of an entry."""
    if key in _NAMES:
        return _NAMES[key]
    head, _, rest = key.partition(".")
    for ending, symbol in _ENDINGS:
        head = head.removesuffix(ending) if symbol != "%" else head.replace("_pct", "")
    words = head.replace("_", " ")
    return f"{words}, {rest.replace('_', ' ')}" if rest else words


def unit_kind(key: str, analysis: str) -> str:
    """Return the symbol of a key's unit, or of what it is in the channel's own units: one of ``Of``."""
    head = key.partition(".")[0]
    for ending, symbol in _ENDINGS:
        if head.endswith(ending) or (symbol == "%" and "_pct" in head):
            return symbol
    if head in _SENSITIVITY or head in _SENSITIVITIES_U:
        return "sensitivity"
    if head == "expanded_uncertainty":
        return "input" if analysis in _LEVEL_U else "own" if analysis == ELECTRICAL else "sensitivity"
    return "output" if head in _OUTPUT else "input" if head in _INPUT else "own" if head in _OWN else "number"
