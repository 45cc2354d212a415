"""The records of a folder in the order in which a reviewer looks at them, each with its reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path
from typing import Any

from vibcal_nb.metrology.conformity.decision import PASSING, VERDICTS
from vibcal_nb.model.names import ALL_TESTS
from vibcal_nb.problems import Refused, in_words
from vibcal_nb.records.files.places import SUPERSEDED, no_record_in, require_place
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.register.record_place import belongs_at, place_of
from vibcal_nb.records.review.looked_at import LookedAt, performed_by
from vibcal_nb.records.review.returned import Returned, holding_return
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.record_content import identity_line, result_of
from vibcal_nb.records.signoff.kept_statement import of_seal
from vibcal_nb.records.signoff.places import list_signoffs
from vibcal_nb.records.signoff.statement import Signoff, read_signoff


class Standing(IntEnum):
    """Why a record stands where it does in the queue, the most urgent first."""

    BROKEN = 0
    """It is not as it was sealed: nothing is decided on it."""
    DECISION = 1
    """It does not pass, and nobody has signed it."""
    SINCE_SIGNED = 2
    """It replaced a revision that somebody had signed off."""
    SINCE_SEEN = 3
    """It is another than the reviewer saw last."""
    UNSIGNED = 4
    """It passes, and nobody has signed it."""
    RETURNED = 5
    """It was returned; who performed it has it."""
    SIGNED = 6
    """It is signed off."""


WORDS = {
    Standing.BROKEN: "not as it was sealed",
    Standing.DECISION: "needs a decision",
    Standing.SINCE_SIGNED: "changed since it was signed",
    Standing.SINCE_SEEN: "changed since you saw it",
    Standing.UNSIGNED: "not signed",
    Standing.RETURNED: "returned",
    Standing.SIGNED: "signed",
}


@dataclass(frozen=True, kw_only=True)
class ReviewItem(LookedAt):
    """One record in the queue: what it is, why it stands where it does, and who decided on it.

    ``changed`` is what this revision says that changed.
    """

    statement: str
    standing: Standing
    reasons: tuple[str, ...]
    changed: tuple[str, ...] = ()
    signoffs: tuple[Signoff, ...] = ()
    returned: Returned | None = None
    notebook: Any = None

    @property
    def passes(self) -> bool:
        """Whether its verdict is a pass, with or without a condition."""
        return self.verdict in PASSING

    @property
    def is_open(self) -> bool:
        """Whether a decision on it is due."""
        return self.standing not in (Standing.BROKEN, Standing.RETURNED, Standing.SIGNED)


def list_queue(paths: Iterable[Path], seen: Mapping[str, str]) -> list[ReviewItem]:
    """Return the records of folders, or records, in the order of a reviewer's queue.

    ``seen`` holds the seals that the reviewer saw last, by place. Raises ``Refused`` where there is no record, or
    where a path is not there.
    """
    paths = list(paths)
    records = list(dict.fromkeys(record.absolute() for path in paths for record in _records(path)))
    if not records:
        raise Refused(no_record_in(paths))
    items = [item for record in records if (item := _item(record, seen)) is not None]
    return sorted(items, key=lambda item: (item.standing, -_gravity(item.verdict), item.place))


def _gravity(verdict: str) -> int:
    return VERDICTS.index(verdict) if verdict in VERDICTS else len(VERDICTS)


def _records(path: Path) -> list[Path]:
    require_place(path)
    if not path.is_dir():
        return [path]
    found = (file for file in path.rglob("*.ipynb") if is_plain(file) and not file.name.endswith(".failed.ipynb"))
    own = (file for file in found if not any(part.startswith(".") for part in file.relative_to(path).parts))
    return sorted(file for file in own if file.parent.name != SUPERSEDED)


def _item(record: Path, seen: Mapping[str, str]) -> ReviewItem | None:
    """Read one record; None for what is no record of a channel."""
    root = place_of(record).root
    try:
        check = check_seal(read_plain(record))
    except OSError as error:
        return _broken(record, root, in_words(error))
    if check.seal is None or not check.intact:
        return _broken(record, root, "; ".join(check.faults) or "it failed")
    try:
        if check.seal["record"]["analysis"] == ALL_TESTS:
            return None
        place, seal, entry = belongs_at(check.seal["record"]), str(check.seal["digest"]), result_of(check.notebook)
        signoffs = tuple(of_seal(list_signoffs(record), read_signoff, seal))
        returned = holding_return(record, seal)
        replaces = check.seal.get("replaces") or {}
        standing, reasons = _standing(entry, replaces, signoffs, returned, seen.get(place), seal)
        return ReviewItem(
            path=record,
            root=root,
            place=place,
            name=identity_line(check.seal),
            seal=seal,
            revision=int(check.seal["revision"]),
            verdict=str(entry.get("verdict")),
            statement=str(entry.get("statement")),
            standing=standing,
            reasons=reasons,
            changed=tuple(map(str, replaces.get("changed", ()))),
            performed_by=performed_by(check.notebook),
            signoffs=signoffs,
            returned=returned,
            notebook=check.notebook,
        )
    except (KeyError, TypeError, ValueError, AttributeError):
        return _broken(record, root, "it holds what no record of this software holds")


def _broken(record: Path, root: Path, why: str) -> ReviewItem:
    below = record.is_relative_to(root) and root.name  # not the drive's own folder, where nothing lies above it
    place = record.relative_to(root).as_posix() if below else record.name
    return ReviewItem(
        path=record, root=root, place=place, name=place, seal="", revision=0, verdict="", statement="",
        standing=Standing.BROKEN, reasons=(f"not as it was sealed: {why}; see verify",),
    )  # fmt: skip


def _standing(
    entry: Mapping[str, Any],
    replaces: Mapping[str, Any],
    signoffs: tuple[Signoff, ...],
    returned: Returned | None,
    seen: str | None,
    seal: str,
) -> tuple[Standing, tuple[str, ...]]:
    if returned is not None:
        return Standing.RETURNED, (f"returned by {returned.who}",)
    if signoffs:
        return Standing.SIGNED, tuple(f"signed off by {item.who}" for item in signoffs)
    found: dict[Standing, str] = {}
    verdict = str(entry.get("verdict"))
    if verdict not in PASSING:
        found[Standing.DECISION] = f"{verdict}, and nobody has signed it"
    before = replaces.get("signed_off") or ()
    if before:
        who = " and ".join(str(item.get("by")) for item in before)
        found[Standing.SINCE_SIGNED] = f"revision {replaces.get('revision')} was signed off by {who}"
    if seen is not None and seen != seal:
        found[Standing.SINCE_SEEN] = "it is another revision than you saw last"
    found.setdefault(Standing.UNSIGNED, "nobody has signed it")
    reasons = tuple(text for standing, text in found.items() if standing is not Standing.UNSIGNED or len(found) == 1)
    return min(found), reasons
