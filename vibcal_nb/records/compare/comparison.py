"""What differs between two records: what they were made from and with, verdicts, gates, numbers, cells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.problems import Refused, file_trouble
from vibcal_nb.records.compare.cell_changes import cell_changes
from vibcal_nb.records.compare.number_changes import NumberChange, grouped_words, number_changes, word_changes
from vibcal_nb.records.compare.other_readings import changes_of_inputs
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.inputs_used.changes import leaf_changes
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.record_content import identity_line, inputs_of, result_of
from vibcal_nb.records.seal.revision import software_changes
from vibcal_nb.records.seal.seal import METADATA_KEY
from vibcal_nb.records.signoff.kept_statement import StatementUnusable
from vibcal_nb.records.signoff.places import list_signoffs
from vibcal_nb.records.signoff.statement import read_signoff


@dataclass(frozen=True, kw_only=True)
class OpenedRecord:
    """A record that is as it was sealed: where it lies, its content and its seal.

    What was made from readings in its place has a seal without sums: it names the record that they would make.
    """

    path: Path
    notebook: Any
    seal: dict[str, Any]

    @property
    def name(self) -> str:
        """The record in one line."""
        return identity_line(self.seal)

    @property
    def is_sealed(self) -> bool:
        """Whether it is a record, and was not made from readings in its place."""
        return bool(self.seal["parts"])

    @property
    def result(self) -> dict[str, Any]:
        """The result that it carries."""
        return result_of(self.notebook)


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Two records and what differs, the ``before`` and the ``after`` in the order in which they were given."""

    before: OpenedRecord
    after: OpenedRecord
    subject: tuple[str, ...]
    made_from: tuple[str, ...]
    made_with: tuple[str, ...]
    said: tuple[str, ...]
    signed: tuple[str, ...]
    numbers: tuple[NumberChange, ...]
    same_numbers: int
    cells: tuple[str, ...]

    @property
    def verdicts(self) -> tuple[str, str]:
        """The two verdicts."""
        return str(self.before.result.get("verdict")), str(self.after.result.get("verdict"))

    @property
    def is_empty(self) -> bool:
        """Whether nothing differs that a record states."""
        parts = (self.subject, self.made_from, self.made_with, self.said, self.signed, self.numbers, self.cells)
        return not any(parts)


def open_record(path: Path) -> OpenedRecord:
    """Open a record. Raises ``Refused`` where there is none, or where it is not as it was sealed."""
    if path.is_dir():
        raise Refused(f"{path.as_posix()}: this is a folder; give one record in it, a file that ends in .ipynb.")
    try:
        check = check_seal(read_plain(path))
    except OSError as error:
        raise Refused(f"{file_trouble(error)}; give a record, as run makes it.") from None
    if check.seal is None or not check.intact:
        raise Refused(f"{path.as_posix()}: {check.faults[0]}; what was altered is not compared: see verify.")
    return OpenedRecord(path=path, notebook=check.notebook, seal=check.seal)


def earlier_revision(record: OpenedRecord) -> OpenedRecord:
    """Open the revision that a record replaced. Raises ``Refused`` where it replaced none, or where that is gone."""
    replaces = record.seal.get("replaces")
    if not isinstance(replaces, Mapping):
        raise Refused(
            f"{record.path.as_posix()}: it is the first revision and replaced none; give the record to compare it with."
        )
    return open_record(record.path.parent / str(replaces.get("record")))


def compare_records(before: OpenedRecord, after: OpenedRecord) -> Comparison:
    """Compare two records; numbers are paired by what they are of, rows by their order in the table.

    Where one was made from readings in its place, there is nothing that it was signed, made or shown by.
    """
    old, new = before.result, after.result
    numbers, same = number_changes(old.get("quantities"), new.get("quantities"))
    sealed = before.is_sealed and after.is_sealed
    return Comparison(
        before=before,
        after=after,
        subject=tuple(_subject(before.seal, after.seal, parameters=sealed)),
        made_from=tuple(_inputs(before, after)),
        made_with=tuple(_made_with(before, after)) if sealed else (),
        said=tuple(_said(old, new)),
        signed=tuple(_signed(before, after)) if sealed else (),
        numbers=tuple(numbers),
        same_numbers=same,
        cells=tuple(_cells(before, after)) if sealed else (),
    )


def _subject(old: Mapping[str, Any], new: Mapping[str, Any], *, parameters: bool) -> Iterator[str]:
    yield from leaf_changes(old.get("record"), new.get("record"), "record")
    if not parameters:
        return
    named = old.get("record") or {}
    given, now = ({k: v for k, v in (side.get("parameters") or {}).items() if k not in named} for side in (old, new))
    yield from leaf_changes(given, now, "parameter")


def _inputs(before: OpenedRecord, after: OpenedRecord) -> list[str]:
    """What they were made from."""
    own, now = before.seal.get("record"), after.seal.get("record")
    conditions = before.result.get("condition", ""), after.result.get("condition", "")
    return changes_of_inputs(
        inputs_of(before.notebook), inputs_of(after.notebook), same=own == now, conditions=conditions
    )


def _made_with(before: OpenedRecord, after: OpenedRecord) -> Iterator[str]:
    yield from software_changes(*(record.notebook["metadata"].get(METADATA_KEY, {}) for record in (before, after)))
    yield from leaf_changes(before.seal.get("environment"), after.seal.get("environment"), "surroundings")


_SAID = ("verdict", "statement", "undetermined")


def _said(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    for name in _SAID:
        yield from leaf_changes(old.get(name), new.get(name), name)
    yield from _gates(*({gate["gate"]: gate["sentence"] for gate in side.get("gates", ())} for side in (old, new)))
    for what, a, b in grouped_words(word_changes(old.get("quantities"), new.get("quantities"))):
        yield f"{what}: from {a} to {b}"


def _gates(old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[str]:
    for name in {**old, **new}:
        if old.get(name) != new.get(name):
            yield f"gate {name}: {f'now. {new[name]}' if name in new else 'no longer'}"


def _signed(before: OpenedRecord, after: OpenedRecord) -> Iterator[str]:
    old, new = (set(_signers(record.path)) for record in (before, after))
    yield from (f"signed off by {who}: the earlier alone" for who in sorted(old - new))
    yield from (f"signed off by {who}: the later alone" for who in sorted(new - old))


def _signers(path: Path) -> Iterator[str]:
    for signoff in list_signoffs(path):
        try:
            yield read_signoff(signoff).who
        except (StatementUnusable, OSError):
            yield "somebody, in a form that cannot be read"


def _cells(before: OpenedRecord, after: OpenedRecord) -> Iterator[str]:
    return cell_changes(before.notebook, after.notebook, parts=(before.seal["parts"], after.seal["parts"]))
