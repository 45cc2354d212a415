"""Where sign-offs, returns and their signatures lie: beside their record, numbered."""

from __future__ import annotations

from pathlib import Path
from typing import Final

SIGNOFFS: Final = "signoff"
RETURNS: Final = "returned"
"""What stands in the names of such files, between the record's and the number."""


def list_signoffs(record: Path) -> list[Path]:
    """List the sign-offs beside a record, in their order."""
    return _in_order(record, SIGNOFFS, ".json")


def list_returns(record: Path) -> list[Path]:
    """List the returns beside a record, in their order."""
    return _in_order(record, RETURNS, ".json")


def list_signatures(record: Path) -> list[Path]:
    """List the signatures beside a record, in their order, also those whose sign-off is not there."""
    return _in_order(record, SIGNOFFS, ".json.sig")


def _in_order(record: Path, kind: str, ending: str) -> list[Path]:
    prefix = f"{record.stem}.{kind}-"
    found = [path for path in record.parent.glob(f"*{ending}") if path.name.startswith(prefix)]
    return sorted(found, key=lambda path: (len(path.name), path.name))


def signature_path(statement: Path) -> Path:
    """Return where the signature of a sign-off or a return lies."""
    return statement.with_name(f"{statement.name}.sig")


def signoff_of(signature: Path) -> Path:
    """Return the sign-off that a signature is of."""
    return signature.with_name(signature.name.removesuffix(".sig"))


def next_path(record: Path, kind: str) -> Path:
    """Return the place of a record's next sign-off or return."""
    number = 1
    while (path := record.with_name(f"{record.stem}.{kind}-{number}.json")).exists() or signature_path(path).exists():
        number += 1
    return path
