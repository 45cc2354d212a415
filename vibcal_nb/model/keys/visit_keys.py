"""The keys of visit.toml."""

from __future__ import annotations

from vibcal_nb.metrology.uncertainty.budget_line import DISTRIBUTIONS, KINDS
from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.keys.layout_keys import TABLE
from vibcal_nb.model.keys.relay_keys import INHIBIT_TABLE, RETURN_TABLE

DECISION_RULES = ("simple", "guarded")

DECISION = KeyTable(
    heading="[decision]",
    says="The rule by which values are judged against their limits.",
    keys=(
        Key(
            name="rule",
            type="choice",
            says="simple: no guard band; guarded: the limit is drawn in by r times U.",
            choices=DECISION_RULES,
            default="simple",
            example='"guarded"',
        ),
        Key(
            name="r",
            type="number",
            says="The guard band in parts of U, under the guarded rule.",
            default=1.0,
            above=0.0,
            most=10.0,
            example="1.0",
        ),
        Key(
            name="coverage_probability",
            type="number",
            says="The probability that every U is stated for, and with it k.",
            default=0.95,
            least=0.5,
            most=0.9999,
            example="0.95",
        ),
        Key(
            name="largest_u_share",
            type="number",
            says="The largest share of its tolerance that U may take where no guard band allows for it; a site may ask "
            "for a third or a quarter.",
            default=1.0,
            above=0.0,
            most=1.0,
            example="0.33",
        ),
        Key(
            name="grace_days",
            type="number",
            says="How long a certificate that has run out still counts.",
            default=0.0,
            unit="days",
            least=0.0,
            most=366.0,
            example="14",
        ),
    ),
)

CONTRIBUTION = KeyTable(
    heading="[contributions.NAME]",
    says="A contribution to the uncertainty: replaces the default of this name, or adds one.",
    keys=(
        Key(
            name="value_pct",
            type="number",
            says="Its size: half the width of the distribution, or k times the standard uncertainty of a normal one.",
            required=True,
            unit="% of the level",
            least=0.0,
            most=100.0,
            example="0.3",
        ),
        Key(
            name="distribution",
            type="choice",
            says="The shape of the distribution (JCGM 100, 4.3).",
            choices=DISTRIBUTIONS,
            default="rectangular",
            example='"rectangular"',
        ),
        Key(
            name="kind",
            type="choice",
            says="Whether all readings of the visit share it, or each has its own.",
            choices=KINDS,
            default="common",
            example='"common"',
        ),
        Key(
            name="degrees_of_freedom",
            type="number",
            says="How well the size is known; left out, it counts as known exactly.",
            above=0.0,
            example="9",
        ),
        Key(
            name="divisor",
            type="number",
            says="k of a normal distribution, or the divisor of a trapezoidal one; others have their own.",
            above=0.0,
            example="2",
        ),
        Key(name="source", type="text", says="Where the size comes from.", example='"repeat readings of March"'),
    ),
)

VISIT_FILE = KeyTable(
    heading="visit.toml",
    says="A visit: who, when, with what equipment, under which decision rule.",
    keys=(
        Key(name="date", type="date", says="The day of the visit.", required=True, example="2026-05-19"),
        Key(
            name="performed_by",
            type="text",
            says="Who took the readings; a planned visit may leave it out.",
            example='"Technician A"',
        ),
        Key(
            name="outage",
            type="text",
            says="Which outage the visit belongs to; as left is compared with what another visit of it found.",
            longest=LONGEST_NAME,
            example='"spring 2026"',
        ),
        Key(name="reviewed_by", type="text", says="Who reviews the records.", example='"Engineer D"'),
        Key(name="laboratory", type="text", says="Name and address of who calibrates, for reports."),
        Key(name="customer", type="text", says="Name and address of whom it is done for, for reports."),
        Key(name="notes", type="text", says="Anything that a reader of the records should know."),
        Key(
            name="ambient_c",
            type="number",
            says="The ambient temperature.",
            unit="°C",
            least=-90.0,
            most=100.0,
            example="22.5",
        ),
        Key(
            name="equipment",
            type="list of texts",
            of="ids from equipment.toml",
            says="The ids in equipment.toml of what was used.",
            required=True,
            example='["REF-1", "DVM-1"]',
        ),
        Key(name="decision", type="table", says="The rule by which values are judged.", table=DECISION),
        Key(
            name="columns",
            type="column by heading",
            says="Headings of the reading table that differ: the heading on the left, the column's name on the right.",
            example='{ "Freq (Hz)" = "frequency_hz" }',
        ),
        Key(
            name="table",
            type="table",
            says="How the reading table is laid out, where it is not one row a reading below headings.",
            table=TABLE,
        ),
        Key(
            name="layout",
            type="text",
            says="A layout file that many visits share, in place of [table]; it lies in the site's folder.",
            example='"../old-workbook.toml"',
        ),
        Key(
            name="contributions",
            type="tables by name",
            says="Contributions to the uncertainty, each under its name.",
            table=CONTRIBUTION,
            named="NAME",
        ),
        Key(
            name="inhibit",
            type="table",
            says="Protection that was inhibited for the visit; leave it out where none was.",
            table=INHIBIT_TABLE,
        ),
        Key(
            name="return_to_service",
            type="table",
            says="How what was inhibited was proved back in service.",
            table=RETURN_TABLE,
        ),
    ),
)
