"""The keys of site.toml: what a site states once for all its visits. The file may be left out."""

from __future__ import annotations

from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.site.site_facts import PLACES

_PARTY = (
    Key(name="name", type="text", says="The name.", required=True, example='"Calibration group"'),
    Key(name="street", type="text", says="Street and number.", example='"Works road 1"'),
    Key(name="post_code", type="text", says="The post code.", longest=LONGEST_NAME, example='"0000"'),
    Key(name="city", type="text", says="The town.", example='"Kestrel Fold"'),
    Key(name="country", type="text", says="The country in two letters (ISO 3166-1).", longest=2, example='"GB"'),
    Key(name="email", type="text", says="An address for questions.", example='"calibration@plant.example"'),
)

LABORATORY = KeyTable(heading="[laboratory]", says="Who calibrates.", keys=_PARTY)
CUSTOMER = KeyTable(heading="[customer]", says="Whom it is done for.", keys=_PARTY)

REVIEW = KeyTable(
    heading="[review]",
    says="Who may sign records off.",
    keys=(
        Key(
            name="same_person",
            type="true or false",
            says="Whether who performed a visit may review its records, too.",
            default=False,
            example="false",
        ),
        Key(
            name="reviewers",
            type="list of texts",
            of="names",
            says="Who may review; left out, anybody who did not perform the visit.",
            example='["Engineer D"]',
        ),
    ),
)

SITE_FILE = KeyTable(
    heading="site.toml",
    says="What a site states once for all its visits: what certificates name, and who reviews. It may be left out.",
    keys=(
        Key(
            name="country",
            type="text",
            says="Where certificates are issued, in two letters (ISO 3166-1).",
            longest=2,
            example='"GB"',
        ),
        Key(
            name="place",
            type="choice",
            says="Where the work is done, in the words of the schema of certificates.",
            choices=PLACES,
            example='"customer"',
        ),
        Key(name="laboratory", type="table", says="Who calibrates.", table=LABORATORY),
        Key(name="customer", type="table", says="Whom it is done for.", table=CUSTOMER),
        Key(name="review", type="table", says="Who may sign records off.", table=REVIEW),
    ),
)
