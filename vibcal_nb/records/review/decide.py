"""Records accepted, each with its own remark, or returned: written, signed, entered into the register."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.inputs.read_site_facts import read_site_facts
from vibcal_nb.model.site.site_facts import ReviewRule
from vibcal_nb.problems import Refused, is_storable
from vibcal_nb.records.files.folder_lock import locked
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.register.documents import RETURN, SIGNOFF
from vibcal_nb.records.register.register_records import register_statement
from vibcal_nb.records.review.duties import duty_problem
from vibcal_nb.records.review.looked_at import LookedAt
from vibcal_nb.records.review.queue import ReviewItem
from vibcal_nb.records.review.returned import Returned, holding_return, write_return
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.record_content import now
from vibcal_nb.records.signoff.statement import Signoff
from vibcal_nb.records.signoff.write_signoff import write_signoff

ROLE = "reviewer"


class NotDecided(Refused):
    """A record on which this person cannot decide, or not now; the text is one sentence."""


@dataclass(frozen=True, kw_only=True)
class Reviewer:
    """Who decides: the name that the list of allowed signers has, the key that signs (None: typed, unsigned), the rule.

    ``key`` is a private key, or a public one whose private half an agent holds.
    """

    name: str
    key: Path | None
    rule: ReviewRule


def rule_of(site: Path | None) -> ReviewRule:
    """Return a site's rule of who reviews; the strict one where no site is at hand. Raises ``InputRefused``."""
    return ReviewRule() if site is None else read_site_facts(site).review


def accept(item: ReviewItem, reviewer: Reviewer, remark: str) -> Path:
    """Sign a record off, and return the sign-off's path.

    Raises ``NotDecided``, ``SignatureImpossible``, ``RegisterUnusable``, ``OSError``; then nothing is written.
    """
    _check(item, reviewer, remark)
    return sign_off(item, name=reviewer.name.strip(), role=ROLE, remark=remark.strip(), key=reviewer.key)


def sign_off(item: LookedAt, *, name: str, role: str, remark: str, key: Path | None) -> Path:
    """Write a sign-off of a record that is still what was looked at, and enter it. Raises as `accept` does."""
    signoff = Signoff(
        record=item.place,
        seal=item.seal,
        name=name,
        role=role,
        at=now(),
        remark=remark,
        revision=item.revision,
        verdict=item.verdict,
    )
    return _keep(item, SIGNOFF, lambda: write_signoff(item.path, signoff, key=key))


def give_back(item: ReviewItem, reviewer: Reviewer, reason: str) -> Path:
    """Return a record with a reason, and return the path of that statement. Raises as `accept` does."""
    _check(item, reviewer, reason)
    if not reason.strip():
        raise NotDecided(f"{item.name}: a record is returned with a reason; say what is to be corrected.")
    returned = Returned(
        record=item.place,
        seal=item.seal,
        revision=item.revision,
        name=reviewer.name.strip(),
        at=now(),
        reason=reason.strip(),
    )
    return _keep(item, RETURN, lambda: write_return(item.path, returned, key=reviewer.key))


def _keep(item: LookedAt, kind: str, write: Callable[[], Path]) -> Path:
    """Write a decision where the record is still what was looked at, and enter it into the register."""
    with locked(item.path.parent):
        _check_unchanged(item)
        path = write()
    register_statement(item.root, path, kind)
    return path


def _check(item: ReviewItem, reviewer: Reviewer, words: str) -> None:
    if not reviewer.name.strip():
        raise NotDecided("A decision needs to know whose it is: give your name.")
    if not is_storable(f"{reviewer.name}{words}"):
        raise NotDecided("A decision is kept as UTF-8, which the name or the words are not; type them anew.")
    if not item.is_open:
        raise NotDecided(f"{item.name}: {'; '.join(item.reasons)}.")
    problem = duty_problem(reviewer.name, item.performed_by, reviewer.rule)
    if problem is not None:
        raise NotDecided(f"{item.name}: {problem}")


def _check_unchanged(item: LookedAt) -> None:
    """What is decided on is what was looked at: neither changed nor returned by somebody else meanwhile."""
    check = check_seal(read_plain(item.path))
    if not check.intact or check.seal is None or check.seal["digest"] != item.seal:
        raise NotDecided(f"{item.name}: it is another than was looked at; look at it again.")
    found = holding_return(item.path, item.seal)
    if found is not None:
        raise NotDecided(f"{item.name}: it was returned meanwhile by {found.who}.")
