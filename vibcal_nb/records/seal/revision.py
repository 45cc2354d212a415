"""What a new revision says of the one before it: what changed, from what to what, and who had signed it off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.records.inputs_used.changes import list_changes
from vibcal_nb.records.inputs_used.encoding import NotEncoded
from vibcal_nb.records.seal.intact import SealCheck
from vibcal_nb.records.seal.record_content import inputs_of, result_of
from vibcal_nb.records.seal.seal import METADATA_KEY
from vibcal_nb.records.signoff.kept_statement import StatementUnusable
from vibcal_nb.records.signoff.places import list_signoffs, signature_path
from vibcal_nb.records.signoff.statement import read_signoff


def describe_earlier(record: Path, earlier: SealCheck, content: Any) -> dict[str, Any]:
    """Return what the seal of a new record says of the one in its place: seal, revision, changes, sign-offs.

    ``content`` is the new record. Raises ``OSError``.
    """
    seal = earlier.seal or {}
    revision = seal.get("revision")
    return {
        "seal": seal.get("digest"),
        "revision": revision if isinstance(revision, int) and not isinstance(revision, bool) else 1,
        "changed": list(_changes(earlier, content)) or ["outputs only"],
        "signed_off": list(signed_off(record)),
    }


def word_signed(earlier: Mapping[str, Any]) -> str:
    """Say of a record, as `describe_earlier` describes it, who signed it off and what has changed since."""
    by = " and ".join(item["by"] for item in earlier["signed_off"]) or "somebody, in a form that cannot be read"
    return f"revision {earlier['revision']} was signed off by {by}; since then: {'; '.join(earlier['changed'])}"


def signed_off(record: Path) -> Iterator[dict[str, Any]]:
    """Who had signed off a record that is superseded now, so that it stays to be seen."""
    for path in list_signoffs(record):
        try:
            signoff = read_signoff(path)
        except (StatementUnusable, OSError):
            continue
        yield {"by": signoff.who, "signature": signature_path(path).is_file()}


def _changes(earlier: SealCheck, content: Any) -> Iterator[str]:
    """Say in words what the new record is made from that the earlier one was not."""
    if not earlier.intact:
        yield f"the earlier record was not intact ({'; '.join(earlier.faults)})"
        return
    yield from input_changes(earlier.notebook, inputs_of(content))
    old, new = (notebook["metadata"][METADATA_KEY] for notebook in (earlier.notebook, content))
    yield from software_changes(old, new)
    verdicts = [result_of(notebook).get("verdict") for notebook in (earlier.notebook, content)]
    if verdicts[0] != verdicts[1]:
        yield f"verdict: from {verdicts[0]} to {verdicts[1]}"


def input_changes(record: Any, now: Mapping[str, Any]) -> list[str]:
    """List in words what ``now`` states of the inputs that the record states otherwise."""
    return statement_changes(inputs_of(record), now)


def statement_changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """List in words what differs between two statements of inputs, whatever form they have."""
    if not before or not now:
        return ["what it is made from is stated since this revision"] if now else []
    try:
        return list_changes(before, now)
    except (NotEncoded, KeyError, TypeError, AttributeError):
        return ["what it was made from is not in a form that can be read"]


def software_changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    """Yield in words what two records were made with: version, sources, notebook."""
    if new.get("version") != old.get("version"):
        yield f"software version: from {old.get('version')} to {new.get('version')}"
    elif new.get("package_sha256") != old.get("package_sha256"):
        yield "software: other sources of the same version"
    if new.get("notebook") != old.get("notebook"):
        yield f"notebook: from {_notebook(old)} to {_notebook(new)}"


def _notebook(stamp: Mapping[str, Any]) -> str:
    found = stamp.get("notebook")
    if not isinstance(found, Mapping):
        return f"one with the sum {str(stamp.get('template_sha256'))[:16]}…"
    return f"{found.get('file')} with the sum {str(found.get('sha256'))[:16]}…"
