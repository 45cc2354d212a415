"""Where sign-offs and their signatures lie: beside their record, numbered."""

from __future__ import annotations

from pathlib import Path


def list_signoffs(record: Path) -> list[Path]:
    """List the sign-offs beside a record, in their order."""
    return _in_order(record, ".json")


def list_signatures(record: Path) -> list[Path]:
    """List the signatures beside a record, in their order, also those whose sign-off is not there."""
    return _in_order(record, ".json.sig")


def _in_order(record: Path, ending: str) -> list[Path]:
    prefix = f"{record.stem}.signoff-"
    found = [path for path in record.parent.glob(f"*{ending}") if path.name.startswith(prefix)]
    return sorted(found, key=lambda path: (len(path.name), path.name))


def signature_path(signoff: Path) -> Path:
    """Return where the signature of a sign-off lies."""
    return signoff.with_name(f"{signoff.name}.sig")


def signoff_of(signature: Path) -> Path:
    """Return the sign-off that a signature is of."""
    return signature.with_name(signature.name.removesuffix(".sig"))


def next_path(record: Path) -> Path:
    """Return the place of a record's next sign-off."""
    number = 1
    while (path := record.with_name(f"{record.stem}.signoff-{number}.json")).exists() or signature_path(path).exists():
        number += 1
    return path
