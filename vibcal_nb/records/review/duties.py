"""Who may review whose work: who performed a visit does not review it, unless the site's file allows it.

Common practice, no source for the rule itself; ISO/IEC 17025:2017, 6.2.5 and 7.8.1.1 ask for authorised personnel and
for results that are reviewed and authorised (clauses from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from vibcal_nb.model.site.site_facts import ReviewRule
from vibcal_nb.records.signoff.allowed_signers import spelled

_APART = re.compile(r",|;|&|\+|/|\band\b")


def duty_problem(name: str, performed_by: str, rule: ReviewRule) -> str | None:
    """Say in one sentence why somebody may not review a visit; None where they may.

    ``performed_by`` is what ``visit.toml`` says, one name or several; names are compared as they are spelled, letter
    case, blanks and accents apart.
    """
    if rule.reviewers and spelled(name) not in map(spelled, rule.reviewers):
        return f"{name} is none of those who review here ({_listed(rule.reviewers)}, site.toml)."
    performers = [part.strip() for part in _APART.split(performed_by) if part.strip()]
    if not rule.same_person and spelled(name) in map(spelled, [*performers, performed_by]):
        return (
            f"{name} performed the visit and does not review it: another person does, or same_person = true under "
            "[review] in site.toml."
        )
    return None


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)
