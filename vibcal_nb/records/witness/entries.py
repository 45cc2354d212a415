"""What is entered into a witness: the seals of records and the sums of sign-offs, as the register holds them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from vibcal_nb.display.writing.names import plural
from vibcal_nb.records.register.documents import SIGNOFF, WITNESS, Document
from vibcal_nb.records.register.register import (
    append_rows,
    has_register,
    read_documents,
    read_rows,
    register_path,
)
from vibcal_nb.records.seal.record_content import now
from vibcal_nb.records.witness.chain import Chain, Witnessed, WitnessUnusable, append, read_chain, refuse_broken

RECORD = "record"


def enter_register(records: Path, witness: Path) -> tuple[Chain, int]:
    """Enter what the register of a folder holds and its witness does not; return the chain and how much was new.

    How far the witness has come is entered into the register: so an end that was cut off shows. Raises
    ``WitnessUnusable``, ``RegisterUnusable``, ``NoLocks``.
    """
    register = register_path(records)
    documents = read_documents(register)
    chain, new = append(witness, [*_of_register(register), *_signoffs(documents)], at=now())
    standing = _standing(chain)
    if chain.entries and standing not in documents:
        append_rows(register, [], [standing])
    return chain, new


def _of_register(register: Path) -> list[Witnessed]:
    rows = read_rows(register, ("record", "seal", "seal_kind"))
    return [Witnessed(kind=RECORD, place=place, sum=seal) for place, seal, kind in rows if kind == "seal"]


def _signoffs(documents: Iterable[Document]) -> list[Witnessed]:
    return [Witnessed(kind=SIGNOFF, place=item.place, sum=item.sha256) for item in documents if item.kind == SIGNOFF]


def _standing(chain: Chain) -> Document:
    """How far a witness has come, as the register holds it: ``seal`` is the hash of its first entry."""
    said = f"{len(chain.entries)} entries"
    return Document(kind=WITNESS, place=chain.path.name, seal=chain.first, sha256=chain.head, said=said)


def refuse_other_witness(records: Path, witness: Path) -> None:
    """Raise ``WitnessUnusable`` for one that was altered, or holds records that the folder's register does not.

    Nothing is entered behind the entries of another folder, or of records that are gone.
    """
    chain = read_chain(witness)
    refuse_broken(chain)
    register = register_path(records)
    known = {item.sum for item in _of_register(register)} if has_register(register) else set()
    gone = [entry for entry in chain.entries if entry.witnessed.kind == RECORD and entry.witnessed.sum not in known]
    if gone:
        raise WitnessUnusable(
            f"{witness.as_posix()}: the witness holds {plural(len(gone), 'record')} that the register of "
            f"{records.as_posix()} does not (first {gone[0].witnessed.place}); look with verify --witness what is "
            "gone, or give each records folder a witness of its own."
        )


def cut_off(chain: Chain, documents: Iterable[Document]) -> list[str]:
    """Say in words what the register knows of a witness of that name and the witness itself does not hold."""
    said = []
    for item in documents:
        if item.kind != WITNESS or item.place != chain.path.name:
            continue
        count = int(item.said.split()[0]) if item.said.split()[:1] and item.said.split()[0].isdecimal() else 0
        if item.seal != chain.first:
            said.append("the register knows a witness of this name that began otherwise: this is another one")
        elif count > len(chain.entries):
            said.append(
                f"the register knows it with {count} entries, and it has {len(chain.entries)}: its end was cut off"
            )
        elif count and chain.entries[count - 1].hash != item.sha256:
            said.append(f"entry {count} is not the one that the register knows")
    return list(dict.fromkeys(said))


def is_entered(chain: Chain, seal: str) -> bool:
    """Whether a record's seal is among the entries."""
    return (RECORD, seal) in chain.keys


def latest_by_place(chain: Chain) -> dict[str, str]:
    """Return the seal that was entered last of each record, by its place."""
    items = (entry.witnessed for entry in chain.entries if entry.witnessed.kind == RECORD)
    return {item.place: item.sum for item in items}
