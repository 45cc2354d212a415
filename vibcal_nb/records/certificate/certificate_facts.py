"""What a certificate is made of: the records of one channel's visit, what the site states, who signed off.

Nothing is invented: what a certificate asks for and nobody stated is listed, and written as not recorded. The country
alone cannot be written so, for the schema admits a code and nothing else; without it there is no certificate.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.model.names import AS_FOUND, CHANNEL_VERDICT, DRIFT
from vibcal_nb.model.site.site_facts import Party, SiteFacts
from vibcal_nb.problems import NotDone, Refused, file_trouble
from vibcal_nb.records.analyses import ANALYSES
from vibcal_nb.records.files.places import path_name
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.record_content import inputs_of, result_of
from vibcal_nb.records.signoff.check_signoffs import SignedRecord, Worth, check_signoffs
from vibcal_nb.records.signoff.statement import Signoff

_ORDER = [name for name in ANALYSES if name not in (DRIFT, CHANNEL_VERDICT)]


class CertificateNotMade(NotDone):
    """A certificate that cannot be made of what there is; the text is one sentence."""


@dataclass(frozen=True, kw_only=True)
class CertifiedRecord:
    """One record as a certificate takes it: its place, seal, entry, and what it states of the visit."""

    path: Path
    seal: Mapping[str, Any]
    entry: Mapping[str, Any]
    visit: Mapping[str, Any]

    @property
    def channel(self) -> Mapping[str, Any]:
        """The channel as this record's condition had it."""
        left = self.visit.get("channel_as_left")
        own: Mapping[str, Any] = self.visit["channel"] if self.is_as_found or left is None else left
        return own

    @property
    def is_as_found(self) -> bool:
        """Whether it is of the channel as it was found."""
        return bool(self.entry["condition"] == AS_FOUND)


@dataclass(frozen=True, kw_only=True)
class CertificateFacts:
    """The records of one channel's visit, in the order of their tests, what the site states, and the sign-offs.

    ``missing`` lists in sentences what nobody stated.
    """

    records: tuple[CertifiedRecord, ...]
    site: SiteFacts
    signoffs: tuple[Signoff, ...]
    missing: tuple[str, ...]

    @property
    def identity(self) -> Mapping[str, str]:
        """Asset, visit and channel."""
        found: Mapping[str, str] = self.records[0].seal["record"]
        return found

    @property
    def visit(self) -> Mapping[str, Any]:
        """What ``visit.toml`` says, as the records state it."""
        found: Mapping[str, Any] = self.records[0].visit["visit"]
        return found

    @property
    def identifier(self) -> str:
        """What no other certificate is called: asset, visit, channel, and a sum over the seals and the site's facts."""
        said = json.dumps([sorted(str(item.seal["digest"]) for item in self.records), repr(self.site)])
        names = "-".join(path_name(self.identity[name]) for name in ("asset", "visit", "channel"))
        return f"{'_'.join(names.split())}-{hashlib.sha256(said.encode()).hexdigest()[:16]}"

    @property
    def laboratory(self) -> Party:
        """Who calibrates: the site's own statement, or else what the visit says."""
        return _party(self.site.laboratory, self.visit.get("laboratory"))

    @property
    def customer(self) -> Party:
        """Whom it is done for."""
        return _party(self.site.customer, self.visit.get("customer"))


def _party(stated: Party, visit: str | None) -> Party:
    return stated if stated.name else Party(name=visit or "")


def gather_facts(paths: Sequence[Path], site: SiteFacts) -> CertificateFacts:
    """Gather what a certificate of these records of one channel's visit says. Raises ``CertificateNotMade``."""
    records = [found for path in paths if (found := _open(path)) is not None]
    if not records:
        raise CertificateNotMade(
            f"{paths[0].parent.as_posix()}: there is no record of a test here; a certificate is made of some."
        )
    records.sort(key=lambda item: (not item.is_as_found, _rank(item.entry["analysis"])))
    first = records[0]
    for item in records:
        if any(item.seal["record"][name] != first.seal["record"][name] for name in ("asset", "visit", "channel")):
            raise CertificateNotMade(
                f"{item.path.as_posix()}: it is of another channel or visit than {first.path.name}; give one at a time."
            )
    if not site.country:
        raise CertificateNotMade(
            'A certificate names the country it is issued in: state country = "..." in site.toml beside equipment.toml.'
        )
    signoffs = tuple(_signoffs(records))
    facts = CertificateFacts(records=tuple(records), site=site, signoffs=signoffs, missing=())
    return CertificateFacts(records=tuple(records), site=site, signoffs=signoffs, missing=tuple(_missing(facts)))


def _rank(analysis: str) -> int:
    return _ORDER.index(analysis) if analysis in _ORDER else len(_ORDER)


def _open(path: Path) -> CertifiedRecord | None:
    """Open a record of a test or of a whole channel; None for one of something else."""
    try:
        check = check_seal(read_plain(path))
    except OSError as error:
        raise CertificateNotMade(f"{file_trouble(error)}.") from None
    if check.seal is None or not check.intact:
        raise CertificateNotMade(f"{path.as_posix()}: {check.faults[0]}; no certificate is made of it: see verify.")
    entry, stated = result_of(check.notebook), inputs_of(check.notebook).get("visits")
    if entry.get("analysis") not in (*_ORDER, CHANNEL_VERDICT):
        return None
    if not isinstance(stated, list) or not stated or "channel" not in stated[0]:
        raise CertificateNotMade(f"{path.as_posix()}: it does not state what it was made from; run with --fresh first.")
    return CertifiedRecord(path=path, seal=check.seal, entry=entry, visit=stated[0])


def _signoffs(records: Sequence[CertifiedRecord]) -> Iterator[Signoff]:
    """The sign-offs that are of these records and whose signatures fit; a typed one is no signature."""
    for item in records:
        place = SignedRecord(
            path=item.path, seal=str(item.seal["digest"]), revision=item.seal.get("revision"), place=None
        )
        for check in check_signoffs(place):
            if check.worth is Worth.GOOD and check.signoff is not None and check.signoff.signed:
                yield check.signoff


def signers_of_all(facts: CertificateFacts) -> tuple[str, ...]:
    """Name who signed off every record of a certificate: who authorises it (ISO/IEC 17025:2017, 7.8.2.1 o)."""
    seals = {str(item.seal["digest"]) for item in facts.records}
    names = dict.fromkeys(item.name for item in facts.signoffs)
    return tuple(name for name in names if {s.seal for s in facts.signoffs if s.name == name} >= seals)


def _missing(facts: CertificateFacts) -> Iterator[str]:
    for name, party, heading in (
        ("laboratory", facts.laboratory, "[laboratory]"),
        ("customer", facts.customer, "[customer]"),
    ):
        if not party.name:
            yield f"the {name}: state it under {heading} in site.toml, or {name} in visit.toml"
        elif not party.has_address:
            yield f"the address of the {name}: state it under {heading} in site.toml"
    if not facts.site.place:
        yield 'where the work was done: state place = "customer" or another in site.toml'
    if not facts.visit.get("performed_by"):
        yield "who performed it: state performed_by in visit.toml"
    if facts.visit.get("ambient_c") is None:
        yield "the ambient temperature: state ambient_c in visit.toml"
    if not signers_of_all(facts):
        yield "who authorises it: sign all its records off with a key (review, or verify --sign --key)"
    yield from _missing_numbers(facts)


def _missing_numbers(facts: CertificateFacts) -> Iterator[str]:
    tag = facts.identity["channel"]
    items = facts.records[0].channel.get("items") or ()
    if not items:
        yield f"what is installed in {tag}: state it under [channels.{tag}.items] in asset.toml"
    for item in items:
        if not item.get("serial"):
            yield f"the serial number of the {item['part']} of {tag}: state it under [channels.{tag}.items]"
    for item in equipment_of(facts):
        if not item.get("serial"):
            yield f"the serial number of {item['id']}: state serial in equipment.toml"
        if not item.get("certificate"):
            yield f"the certificate of {item['id']}: state certificate in equipment.toml"


def equipment_of(facts: CertificateFacts) -> list[Mapping[str, Any]]:
    """Return the references and readouts that the records used, each once."""
    found: dict[str, Mapping[str, Any]] = {}
    for record in facts.records:
        for item in (*record.visit.get("references", ()), *record.visit.get("readouts", ())):
            found.setdefault(item["id"], item)
    return list(found.values())


def records_in(folder: Path) -> list[Path]:
    """List the records of a channel's folder. Raises ``Refused`` where there are none."""
    found = sorted(path for path in folder.glob("*.ipynb") if is_plain(path))
    if not found:
        raise Refused(f"{folder.as_posix()}: there is no record here; give a record, or a channel's folder of records.")
    return found
