"""What the sign-offs beside a record are worth, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time
from enum import Enum
from pathlib import Path
from tempfile import TemporaryDirectory

from vibcal_nb.problems import in_words
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.signoff.allowed_signers import AllowedSigners
from vibcal_nb.records.signoff.kept_statement import StatementUnusable
from vibcal_nb.records.signoff.places import list_signatures, list_signoffs, signature_path, signoff_of
from vibcal_nb.records.signoff.ssh import fits, is_by
from vibcal_nb.records.signoff.statement import Signoff, read_signoff


class Worth(Enum):
    """What a sign-off is worth."""

    GOOD = "good"
    """It is of this record; signed, it is by whom it names, as far as that was asked."""
    UNKNOWN = "unknown"
    """It is signed, and not by a key that is allowed for its name."""
    HALF = "half"
    """It was begun and not brought to its end."""
    FALSE = "false"
    """It was changed, lost its signature, or is of another record."""


@dataclass(frozen=True, kw_only=True)
class SignoffCheck:
    """What a sign-off is worth, and that in words; ``signoff`` is None where none can be read."""

    path: Path
    said: str
    worth: Worth
    signoff: Signoff | None = None


@dataclass(frozen=True, kw_only=True)
class SignedRecord:
    """The record that sign-offs should be of: its seal, revision and verdict, and its place in the records folder.

    ``place`` is None where the record lies in no records folder.
    """

    path: Path
    seal: str
    revision: int | None
    place: str | None


def check_signoffs(record: SignedRecord, *, allowed: AllowedSigners | None = None) -> Iterator[SignoffCheck]:
    """Check every sign-off of a record. Raises ``SignatureImpossible`` where a signature cannot be checked."""
    for path in list_signoffs(record.path):
        try:
            signoff = read_signoff(path)
        except (OSError, StatementUnusable) as error:
            said = f"sign-off {path.name} is unusable: {in_words(error)}"
            yield SignoffCheck(path=path, said=said, worth=Worth.FALSE)
            continue
        worth, said = _judge(path, signoff, record, allowed)
        yield SignoffCheck(path=path, said=said, worth=worth, signoff=signoff)
    for path in list_signatures(record.path):
        if not is_plain(signoff_of(path)):
            said = f"signature {path.name} has no sign-off beside it; sign again"
            yield SignoffCheck(path=path, said=said, worth=Worth.HALF)


def _judge(path: Path, signoff: Signoff, record: SignedRecord, allowed: AllowedSigners | None) -> tuple[Worth, str]:
    foreign = _foreign(signoff, record)
    if foreign is not None:
        return Worth.FALSE, f"sign-off {path.name} by {signoff.who} is {foreign}"
    signature = signature_path(path)
    if not is_plain(signature):
        if signoff.signed:
            return (
                Worth.FALSE,
                f"sign-off {path.name} by {signoff.who} says that it is signed, and its signature is gone",
            )
        return Worth.GOOD, f"typed sign-off, unsigned: {signoff.who}"
    data = read_plain(path)
    if not fits(data, signature):
        return Worth.FALSE, f"the signature of {signoff.who} does not fit {path.name}"
    if allowed is None:
        said = "the signature fits; whose key it is was not checked (give --allowed-signers)"
        return Worth.GOOD, f"signed off by {signoff.who}: {said}"
    return _judge_signer(data, signature, signoff, allowed)


def _foreign(signoff: Signoff, record: SignedRecord) -> str | None:
    if signoff.seal != record.seal:
        return "of another seal than this record's"
    if signoff.revision is not None and signoff.revision != record.revision:
        return f"of revision {signoff.revision}, and this is revision {record.revision}"
    if signoff.revision is not None and record.place is not None and signoff.record != record.place:
        return f"of the record at {signoff.record}"
    return None


def _judge_signer(data: bytes, signature: Path, signoff: Signoff, allowed: AllowedSigners) -> tuple[Worth, str]:
    why = "no line of the list of allowed signers has that name"
    with TemporaryDirectory() as folder:
        counting = Path(folder) / "allowed_signers"
        counting.write_text(allowed.text, encoding="utf-8")
        for principal in dict.fromkeys((*allowed.named(signoff.name), signoff.name)):
            for moment in _moments(signoff):
                good, said = is_by(principal, data, signature, allowed=counting, at=moment)
                if good:
                    return Worth.GOOD, f"signed off by {signoff.who}: signature valid, key of {principal}"
                why = "the key was not valid on that day" if "expired" in said or "not yet valid" in said else why
    if allowed.named(signoff.name) and "not valid" not in why:
        why = "the key is another than the list has for that name"
    return Worth.UNKNOWN, f"the signature of {signoff.who} is by no allowed signer: {why}"


def _moments(signoff: Signoff) -> list[datetime]:
    """When it was signed, as the sign-off states it; where it states a day alone, that day's beginning and end."""
    stated = datetime.fromisoformat(signoff.at)
    if stated.tzinfo is not None:
        return [stated]
    return [datetime.combine(stated.date(), moment, tzinfo=UTC) for moment in (time.min, time.max)]
