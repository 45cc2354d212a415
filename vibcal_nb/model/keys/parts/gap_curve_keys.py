"""The keys of an eddy-current probe against the gap before it."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.keys.parts.common import unit_key
from vibcal_nb.model.names import ELECTRICAL

_OF_GAPS = "input_unit"

GAP_CURVE_KEYS = KeyTable(
    heading="[channels.TAG.gap_curve]",
    says="What an eddy-current probe should give against the gap before a target at rest.",
    keys=(
        unit_key("input_unit", "Unit of the gap, without a detector.", "gap", "mm"),
        unit_key("output_unit", "Unit of the voltage at a gap.", ELECTRICAL, "V dc"),
        Key(
            name="nominal_sensitivity",
            type="number",
            says="Voltage over gap with its sign: negative where the voltage falls as the gap grows.",
            required=True,
            unit="output_unit per input_unit",
            example="-7.87",
        ),
        Key(
            name="range",
            type="pair of numbers",
            says="The gaps from and to which the limits hold; left out, they hold wherever it was read.",
            unit=_OF_GAPS,
            least=0.0,
            example="[0.25, 2.25]",
        ),
        Key(
            name="step",
            type="number",
            says="The change of gap that an increment is taken over; left out, from each reading to the next.",
            unit=_OF_GAPS,
            above=0.0,
            example="0.25",
        ),
        Key(
            name="incremental_pct",
            type="number",
            says="How far the sensitivity of each increment may lie from nominal, to either side.",
            unit="% of nominal_sensitivity",
            above=0.0,
            most=100.0,
            example="5.0",
        ),
        Key(
            name="deviation_um",
            type="number",
            says="How far the readings may lie from the best straight line of the nominal slope, to either side.",
            unit="um",
            above=0.0,
            example="25.4",
        ),
        Key(
            name="rest_gap",
            type="number",
            says="The gap at which the probe stands when the machine is at rest; it must lie in the linear range.",
            unit=_OF_GAPS,
            above=0.0,
            example="1.25",
        ),
        Key(
            name="rest_voltage",
            type="pair of numbers",
            says="The lowest and the highest voltage allowed at rest_gap.",
            unit="output_unit",
            example="[-12.0, -8.0]",
        ),
        Key(
            name="target",
            type="text",
            says="The material of the target, which changes the slope.",
            default="",
            example='"42CrMo4, flat"',
        ),
    ),
)
