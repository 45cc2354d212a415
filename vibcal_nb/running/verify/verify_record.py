"""One record verified: seal, page, inputs, entry in results.json, sign-offs; and its analysis performed again."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused, NothingToAnalyse
from vibcal_nb.records.analyses import reads_history
from vibcal_nb.records.files.places import RESULTS_FILE, SUPERSEDED, page_path
from vibcal_nb.records.perform.differences import LAST_DIGIT, SAME_WITHIN, count_numbers, list_differences
from vibcal_nb.records.perform.perform import NotReperformed, perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.seal import page
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.records.seal.record_content import environment, result_of
from vibcal_nb.records.seal.seal import METADATA_KEY
from vibcal_nb.records.seal.signoff import check_signoffs
from vibcal_nb.running.fleet.earlier_visits import hash_earlier_visits
from vibcal_nb.running.fleet.fingerprint import hash_files, hash_package, list_input_files

_SHOWN = 10  # differences that are written out; how many more there are is said


@dataclass(kw_only=True)
class Verifier:
    """What is the same for all records of one call; visits and results files are read once.

    ``inputs``: a visit, an asset or a site folder in which the visits are looked for; without it, where the
    record's own parameter says.
    """

    inputs: Path | None = None
    allowed_signers: Path | None = None
    _visits: dict[Path, VisitFolder | str] = field(default_factory=dict)
    _results: dict[Path, dict[str, Any]] = field(default_factory=dict)

    @cached_property
    def package_sha256(self) -> str:
        """The sum over the sources of the software that verifies."""
        return hash_package()

    def visit(self, path: Path) -> VisitFolder | str:
        """Return a visit, or in one sentence why it cannot be read."""
        if path not in self._visits:
            try:
                self._visits[path] = load_visit(path)
            except (InputRefused, OSError) as error:
                self._visits[path] = str(error).splitlines()[0]
        return self._visits[path]

    def entries(self, results: Path) -> dict[str, Any]:
        """Return the entries of a results file by the record they name; none where it cannot be read."""
        if results not in self._results:
            try:
                entries = json.loads(results.read_text(encoding="utf-8"))["results"]
                self._results[results] = {entry["record"]: entry for entry in entries}
            except (OSError, ValueError, KeyError, TypeError, RecursionError):
                self._results[results] = {}
        return self._results[results]


@dataclass(frozen=True, kw_only=True)
class Verified:
    """What came of verifying a file: ``faults`` where it is not as it was made, ``said`` what else there is to say."""

    path: Path
    faults: tuple[str, ...]
    said: tuple[str, ...]


def verify_record(path: Path, verifier: Verifier) -> Verified:
    """Verify a record. Raises ``OSError``, ``SignatureImpossible``."""
    check = check_seal(path.read_bytes())
    if check.failed is not None:
        return Verified(path=path, faults=(), said=(f"no record: a notebook that failed ({check.failed})",))
    if not check.intact:
        return Verified(path=path, faults=check.faults, said=())
    try:
        notes = list(_notes(path, check, verifier))
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError):
        return Verified(path=path, faults=("it is sealed, but holds what no record of this software holds",), said=())
    faults = tuple(text for fault, text in notes if fault)
    return Verified(path=path, faults=faults, said=("intact", *(text for fault, text in notes if not fault)))


def _notes(path: Path, check: SealCheck, verifier: Verifier) -> Iterator[tuple[bool, str]]:
    """Yield what there is to say, each with whether it is a fault."""
    seal = check.seal or {}
    superseded = path.parent.name == SUPERSEDED
    yield from _page_notes(page_path(path), check, verifier)
    if superseded:
        yield False, f"superseded, revision {seal.get('revision')}: not performed again"
    else:
        yield from _results_notes(path, check, verifier)
        yield from _input_notes(check, verifier)
    for signoff in check_signoffs(path, seal=str(seal.get("digest")), allowed_signers=verifier.allowed_signers):
        yield signoff.fault, signoff.said


def _stamp(check: SealCheck) -> Mapping[str, Any]:
    stamp: Mapping[str, Any] = check.notebook["metadata"][METADATA_KEY]
    return stamp


def _page_notes(path: Path, check: SealCheck, verifier: Verifier) -> Iterator[tuple[bool, str]]:
    if not path.is_file():
        yield False, "its page (.html) is not there"
        return
    data = path.read_bytes()
    if not page.has_own_sum(data):
        yield True, f"its page {path.name} was changed"
    elif page.seal_in(data) != (check.seal or {}).get("digest"):
        yield True, f"its page {path.name} is of another record"
    elif _stamp(check).get("package_sha256") != verifier.package_sha256:
        yield False, "page whole"
    elif page.record_page(check.notebook) != data:
        yield True, f"its page {path.name} does not show what the record holds"
    else:
        yield False, "page intact"


def _results_notes(path: Path, check: SealCheck, verifier: Verifier) -> Iterator[tuple[bool, str]]:
    results = path.parent.parent / RESULTS_FILE
    entry = verifier.entries(results).get(f"{path.parent.name}/{path.name}")
    if entry is None:
        # without the file the record was made by itself; with it, an entry was taken out, or a run was stopped
        there = results.is_file()
        yield there, f"no entry in results.json{'; if a run was stopped, run again' if there else ''}"
        return
    if entry.get("seal") != (check.seal or {}).get("digest"):
        yield True, "results.json names another seal for it"
    own = {name: value for name, value in entry.items() if name not in ("record", "seal")}
    for difference in list_differences(result_of(check.notebook), own, within=0.0)[:_SHOWN]:
        yield True, f"results.json differs from the record: {difference.replace('computed', 'there')}"


def _input_notes(check: SealCheck, verifier: Verifier) -> Iterator[tuple[bool, str]]:
    folder = find_inputs(check.seal or {}, verifier.inputs)
    if folder is None:
        yield False, "its inputs are not at hand, so that it was not performed again (give --inputs FOLDER)"
        return
    sums, sealed = hash_files(list_input_files(folder)), _stamp(check).get("inputs_sha256", {})
    visit = verifier.visit(folder)
    if reads_history(result_of(check.notebook).get("analysis")) and not isinstance(visit, str):
        sums |= hash_earlier_visits(visit)
    changed = [name for name in sorted({**sums, **sealed}) if sums.get(name) != sealed.get(name)]
    for name in changed:
        yield True, f"input {name} {_change(name, sums, sealed)} ({folder.as_posix()})"
    if not changed:
        yield False, f"{len(sums)} input files unchanged"
    yield from _reperformed(check, verifier, folder)


def _change(name: str, sums: Mapping[str, str], sealed: Mapping[str, str]) -> str:
    return "was removed" if name not in sums else "was added" if name not in sealed else "was changed"


_EXACTLY = ((0.0, "bit for bit"), (LAST_DIGIT, "but for a unit of the last of eight digits, which rounding moves"))
_NEARLY = ((SAME_WITHIN, f"to within {SAME_WITHIN:g} of their size"),)


def _reperformed(check: SealCheck, verifier: Verifier, folder: Path) -> Iterator[tuple[bool, str]]:
    visit = verifier.visit(folder)
    if isinstance(visit, str):
        yield True, f"it cannot be performed again: {visit}"
        return
    kept = result_of(check.notebook)
    try:
        result = perform(visit, **{name: kept[name] for name in ("channel", "analysis", "condition")})
    except (NotReperformed, NothingToAnalyse, KeyError) as error:
        yield True, f"it cannot be performed again: {error}"
        return
    same = _stamp(check).get("package_sha256") == verifier.package_sha256
    exact = same and (check.seal or {}).get("environment") == environment()
    again = result_entry(result)
    for within, how in _EXACTLY if exact else _NEARLY:
        differences = list_differences(kept, again, within=within)
        if not differences:
            yield False, f"performed again: {count_numbers(kept)} numbers the same {how}"
            return
    by = "" if same else f" by version {environment()['vibcal_nb']} (the record: {_stamp(check).get('version')})"
    for difference in differences[:_SHOWN]:
        yield True, f"performed again{by}: {difference}"
    if len(differences) > _SHOWN:
        yield True, f"performed again{by}: {len(differences) - _SHOWN} more differences"


def find_inputs(seal: Mapping[str, Any], inputs: Path | None) -> Path | None:
    """Find the visit folder that a record was made from; None where it is not at hand."""
    stated = str(seal.get("parameters", {}).get("visit_folder", ""))
    if not stated or stated.startswith(("\\\\", "//")):  # nothing is fetched from a network share a record names
        return None
    folder = Path(stated)
    places = [folder]
    if inputs is not None:
        places = [inputs, inputs / folder.name, inputs / folder.parent.name / folder.name]
    try:
        found = [place for place in places if place.name == folder.name and (place / "visit.toml").is_file()]
    except OSError:  # a path longer than any that a system takes
        return None
    return found[0] if found else None
