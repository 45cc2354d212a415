"""site.toml: what a site states once for all its visits. The file may be left out: then nothing is stated."""

from __future__ import annotations

from pathlib import Path

from vibcal_nb.inputs.certificates.languages import COUNTRIES
from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.model.keys.site_keys import SITE_FILE
from vibcal_nb.model.site.site_facts import Party, ReviewRule, SiteFacts
from vibcal_nb.problems import InputRefused, Problem, shown

SITE = "site.toml"


def read_site_facts(site: Path) -> SiteFacts:
    """Read the facts of a site's folder; empty ones where it has no ``site.toml``. Raises ``InputRefused``."""
    path = site / SITE
    if not path.is_file():
        return SiteFacts()
    problems: list[Problem] = []
    values = load_toml(path, problems)
    if values is None:
        raise InputRefused(problems)
    root = TomlTable.of_file(SITE_FILE, path.name, values, problems)
    fields = root.read("country", "place")
    laboratory, customer = (_read_party(root.table(name)) for name in ("laboratory", "customer"))
    review = root.table("review")
    rule = ReviewRule() if review is None else ReviewRule(**review.read("same_person", "reviewers"))
    root.finish()
    if review is not None:
        review.finish()
    _check_country(root, fields["country"])
    if problems:
        raise InputRefused(problems)
    return SiteFacts(**fields, laboratory=laboratory, customer=customer, review=rule)


def _read_party(table: TomlTable | None) -> Party:
    if table is None:
        return Party()
    fields = table.read(*table.keys.names)
    table.finish()
    _check_country(table, fields["country"])
    return Party(**fields)


def _check_country(table: TomlTable, country: str) -> None:
    if country and country not in COUNTRIES:
        table.note("country", shown(country), "give a code of ISO 3166-1 in two capital letters, such as 'GB'")
