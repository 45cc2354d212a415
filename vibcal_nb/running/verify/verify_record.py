"""One record verified: seal, place, notebook, inputs, page, and everything beside it that witnesses it.

It is performed again from what it states that it was made from, and that is held against what the inputs hold now: so a
record that does not follow from its own statement is told from one whose inputs have moved on since.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.problems import InputRefused, Refused
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.inputs_used.record_inputs import sum_of_inputs
from vibcal_nb.records.perform.differences import list_differences
from vibcal_nb.records.register.record_place import Place, belongs_at, misplaced, place_of
from vibcal_nb.records.review.returned import check_returns
from vibcal_nb.records.seal import page
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.records.seal.record_content import inputs_of, result_of
from vibcal_nb.records.seal.revision import input_changes
from vibcal_nb.records.signoff.check_signoffs import SignedRecord, Worth, check_signoffs
from vibcal_nb.records.witness.entries import is_entered, latest_by_place
from vibcal_nb.running.fleet.stamp import stamp_of
from vibcal_nb.running.verify.again.made_again import made_again
from vibcal_nb.running.verify.find_inputs import find_inputs
from vibcal_nb.running.verify.revisions import chain_findings
from vibcal_nb.running.verify.states import Finding, State, Verified, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier

_SHOWN = 20

Note = Finding | str
"""What is not in order, or else there is to say."""


def verify_record(path: Path, verifier: Verifier) -> Verified:
    """Verify a record. Raises ``OSError``, ``SignatureImpossible``."""
    check = check_seal(read_plain(path))
    if check.failed is not None:
        return Verified(path=path, findings=(incomplete(f"no record: a notebook that failed ({check.failed})"),))
    if not check.intact or check.seal is None:
        return Verified(path=path, findings=tuple(map(altered, check.faults)))
    place = place_of(path)
    try:
        notes = list(_notes(place, check, check.seal, verifier))
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError, IndexError):
        return Verified(path=path, findings=(altered("it is sealed, but holds what no record of this software holds"),))
    findings = tuple(note for note in notes if isinstance(note, Finding))
    said = ("intact", *(note for note in notes if isinstance(note, str)))
    return Verified(path=path, findings=findings, said=said, may_be_signed=not findings and not place.superseded)


def _notes(place: Place, check: SealCheck, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    """Yield what there is to say."""
    yield from _place_notes(place, seal)
    yield from _page_notes(place, check, seal, verifier)
    yield from made_again(check.notebook, seal, verifier)
    if place.superseded:
        yield f"superseded, revision {seal.get('revision')}"
    else:
        yield from _input_notes(check, seal, verifier)
        yield from _results_notes(place, check, seal, verifier)
    yield from chain_findings(place, seal, verifier)
    yield from _register_notes(place, seal, verifier)
    yield from _witness_notes(place, seal, verifier)
    yield from _signoff_notes(place, seal, verifier)
    if not place.superseded:
        yield from _return_notes(place, seal, verifier)


def _place_notes(place: Place, seal: Mapping[str, Any]) -> Iterator[Note]:
    if place.is_alone:
        yield incomplete("it lies in no records folder: neither a results file nor a register is where one would be")
        return
    elsewhere = misplaced(place, seal["record"], seal.get("revision"))
    if elsewhere is not None:
        yield altered(elsewhere)


def _page_notes(place: Place, check: SealCheck, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    path = page_path(place.path)
    if not is_plain(path):
        yield incomplete("its page (.html) is not there")
        return
    data = read_plain(path)
    shown = page.seal_in(data)
    if not page.has_own_sum(data):
        yield altered(f"its page {path.name} was changed")
    elif shown != seal["digest"]:
        before = (seal.get("replaces") or {}).get("seal")
        half = shown is not None and shown == before
        yield (
            incomplete("its page is still of the revision before")
            if half
            else altered(f"its page {path.name} is of another record")
        )
    elif page.record_page(check.notebook) == data:
        yield "page intact"
    elif verifier.is_by_this_software(stamp_of(check.notebook), seal):
        yield altered(f"its page {path.name} does not show what the record holds")
    else:
        text = f"its page {path.name} shows the record otherwise than this software would, and was made by another"
        yield Finding(state=State.NOT_PERFORMED, text=text)


def _input_notes(check: SealCheck, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    stated = inputs_of(check.notebook)
    if not stated:
        text = "it does not state what it was made from, as records of schema 1 do not: it was not performed again"
        yield Finding(state=State.NOT_PERFORMED, text=text)
        return
    if stamp_of(check.notebook).get("inputs_sha256") != sum_of_inputs(stated):
        yield altered("what it states that it was made from is not what it is stamped with")
    folder = find_inputs(seal, verifier.inputs)
    if folder is None:
        text = "its inputs are not at hand, so that nobody knows whether they are what it states (give --inputs FOLDER)"
        yield Finding(state=State.NOT_PERFORMED, text=text)
        return
    names = {name: seal["record"][name] for name in ("channel", "analysis", "condition")}
    try:
        now = verifier.present.counterpart(stated, folder, **names)
    except (InputRefused, Refused, LookupError) as refused:
        said = str(refused).splitlines()[0]
        yield Finding(state=State.MOVED_ON, text=f"its inputs can no longer be read: {said}")
        return
    changed = [*_asset_change(seal, stated), *input_changes(check.notebook, now)]
    for text in changed[:_SHOWN]:
        yield Finding(state=State.MOVED_ON, text=f"{text} ({folder.as_posix()})")
    if len(changed) > _SHOWN:
        yield Finding(state=State.MOVED_ON, text=f"and {len(changed) - _SHOWN} more changes")
    if not changed:
        yield "its inputs hold what it states"


def _asset_change(seal: Mapping[str, Any], stated: Mapping[str, Any]) -> Iterator[str]:
    own = stated["visits"][0]
    identity = seal["record"]
    if (own["asset"]["tag"], own["name"]) != (identity["asset"], identity["visit"]):
        yield f"it was made from {own['asset']['tag']} {own['name']} and says {identity['asset']} {identity['visit']}"


def _results_notes(place: Place, check: SealCheck, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    entry = verifier.entries(place.results).get(f"{place.channel_folder.name}/{place.path.name}")
    if entry is None:
        if not place.is_alone:
            yield incomplete("no entry in results.json")
        return
    before = (seal.get("replaces") or {}).get("seal")
    if entry.get("seal") != seal["digest"]:
        half = before is not None and entry.get("seal") == before
        yield (
            incomplete("results.json still holds the revision before")
            if half
            else altered("results.json names another seal for it")
        )
        if half:
            return
    own = {name: value for name, value in entry.items() if name not in ("record", "seal")}
    for difference in list_differences(result_of(check.notebook), own, within=0.0)[:_SHOWN]:
        yield altered(f"results.json differs from the record: {difference.replace('computed', 'there')}")


def _register_notes(place: Place, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    register = verifier.register(place.root)
    if register is None:
        if not place.is_alone:
            yield incomplete("there is no register that can be read (overview --rebuild)")
        return
    if seal["digest"] not in register.seals:
        yield incomplete("it is not in the register")
    elif not place.superseded and register.latest.get(belongs_at(seal["record"])) != seal["digest"]:
        yield altered("the register holds a later revision of it: it was put back, or the later one was taken away")


def _witness_notes(place: Place, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    if verifier.witness is None:
        return
    latest = latest_by_place(verifier.witness)
    if not is_entered(verifier.witness, seal["digest"]):
        yield incomplete("it is not in the witness (run again with --witness)")
    elif not place.superseded and latest.get(belongs_at(seal["record"])) != seal["digest"]:
        yield altered("the witness holds a later revision of it: it was put back, or the later one was taken away")
    else:
        yield "entered into the witness"


def _signoff_notes(place: Place, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    home = None if place.is_alone else belongs_at(seal["record"])
    record = SignedRecord(path=place.path, seal=seal["digest"], revision=seal.get("revision"), place=home)
    register, found = verifier.register(place.root), set()
    for signoff in check_signoffs(record, allowed=verifier.allowed):
        if signoff.worth is Worth.GOOD:
            yield signoff.said
        else:
            yield Finding(state=_STATE_OF[signoff.worth], text=signoff.said)
        if register is not None and signoff.worth in (Worth.GOOD, Worth.UNKNOWN):
            digest = register.sum_of(signoff.path)
            found.add(digest)
            if digest not in register.signoffs:
                yield incomplete(f"sign-off {signoff.path.name} is not in the register")
    gone = [] if register is None else [row for row in register.signoffs_of(seal["digest"]) if row.sha256 not in found]
    for row in gone:
        yield altered(f"its sign-off by {row.said} was taken away")


def _return_notes(place: Place, seal: Mapping[str, Any], verifier: Verifier) -> Iterator[Note]:
    """A return of this very revision holds; one of an earlier revision says that it did."""
    register, found = verifier.register(place.root), set()
    for check in check_returns(place.path):
        if check.problem is not None:
            yield altered(check.problem)
        if check.returned is None:
            continue
        if check.returned.seal == seal["digest"]:
            yield Finding(state=State.RETURNED, text=f"returned by {check.returned.who}")
            found.add(None if register is None else register.sum_of(check.path))
        else:
            yield f"revision {check.returned.revision} was returned by {check.returned.who}"
    for row in [] if register is None else register.returns_of(seal["digest"]):
        if row.sha256 not in found:
            yield altered(f"its return by {row.said} was taken away")


_STATE_OF = {Worth.UNKNOWN: State.UNSIGNED, Worth.HALF: State.INCOMPLETE, Worth.FALSE: State.ALTERED}
