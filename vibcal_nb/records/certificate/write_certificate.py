"""A channel's visit as one certificate: the whole file, and its place beside the records."""

from __future__ import annotations

import base64
import xml.etree.ElementTree as ET
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from vibcal_nb.inputs.certificates.dsi_units import DsiUnitRefused
from vibcal_nb.inputs.certificates.numbers import NumberRefused
from vibcal_nb.inputs.certificates.quantities import DCC
from vibcal_nb.inputs.certificates.read_certificate import parse_root
from vibcal_nb.inputs.certificates.rules import certificate_problems
from vibcal_nb.inputs.certificates.safe_xml import XmlRefused
from vibcal_nb.metrology.conformity.decision import NOT_VERIFIED
from vibcal_nb.records.certificate.administrative import NAMESPACE, add_administrative, decision_of, identifier_in
from vibcal_nb.records.certificate.certificate_facts import CertificateFacts, CertificateNotMade, CertifiedRecord
from vibcal_nb.records.certificate.conditions import add_conditions, add_equipment, add_methods
from vibcal_nb.records.certificate.elements import dcc, said
from vibcal_nb.records.certificate.entry_quantities import parts_of_entry, ref_type, token_of, units_of
from vibcal_nb.records.certificate.quantity_xml import add_quantity, add_table
from vibcal_nb.records.files.places import SUPERSEDED, sheet_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import write_atomically

VERSION = "3.3.0"
ENDING = ".dcc.xml"
ET.register_namespace("records", NAMESPACE)


@dataclass(frozen=True, kw_only=True)
class WrittenCertificate:
    """Where a certificate lies, whether it was written now, and where the one before it was put aside."""

    path: Path
    new: bool
    aside: Path | None = None


def certificate_path(record: Path) -> Path:
    """Return where the certificate of a record's channel lies: beside it, named as the channel's folder."""
    return record.with_name(f"{record.parent.name}{ENDING}")


def write_certificate(facts: CertificateFacts, path: Path, *, today: date, sheet: bytes | None) -> WrittenCertificate:
    """Write a certificate; one of the same content stays as it is, another one is put aside by its identifier.

    ``sheet`` is the PDF that a person reads; None for none. Raises ``CertificateNotMade``, ``OSError``.
    """
    before = _identifier_of(path)
    if before == facts.identifier:
        return WrittenCertificate(path=path, new=False)
    data = certificate_bytes(facts, issued=today, replaced=before, sheet=sheet)
    aside = None
    if before is not None:
        aside = path.parent / SUPERSEDED / f"{path.name.removesuffix(ENDING)}.{before.rpartition('-')[2]}{ENDING}"
        write_atomically(aside, read_plain(path))
    write_atomically(path, data)
    return WrittenCertificate(path=path, new=True, aside=aside)


def _identifier_of(path: Path) -> str | None:
    """The identifier of the certificate that lies there; None where none does. Raises ``CertificateNotMade``."""
    if not is_plain(path):
        return None
    try:
        return identifier_in(parse_root(read_plain(path)))
    except XmlRefused:
        raise CertificateNotMade(
            f"{path.as_posix()}: a file that is no certificate lies there; move it away, or give --out."
        ) from None


def certificate_bytes(
    facts: CertificateFacts, *, issued: date, replaced: str | None = None, sheet: bytes | None = None
) -> bytes:
    """Return a certificate as its file holds it. Raises ``CertificateNotMade`` where it would break a rule."""
    root = ET.Element(f"{DCC}digitalCalibrationCertificate", {"schemaVersion": VERSION})
    try:
        add_administrative(root, facts, issued=issued, replaced=replaced)
        _add_results(root, facts)
    except (DsiUnitRefused, NumberRefused) as error:
        raise CertificateNotMade(
            f"{facts.identity['channel']}: no certificate can state {error}; leave the test out, or give its records."
        ) from None
    _add_seals(root, facts)
    if sheet is not None:
        _add_sheet(root, facts, sheet)
    ET.indent(root)
    data: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"
    problems = certificate_problems(data)
    if problems:
        raise CertificateNotMade(f"{facts.identity['channel']}: the certificate would break a rule: {problems[0]}.")
    return data


def results_element(facts: CertificateFacts) -> ET.Element:
    """Return the results of a certificate alone, as they follow from its records. Raises ``DsiUnitRefused``."""
    root = ET.Element(f"{DCC}digitalCalibrationCertificate")
    _add_results(root, facts)
    return root[0]


def _add_results(root: ET.Element, facts: CertificateFacts) -> None:
    element = dcc(root, "measurementResults")
    add_equipment(element, facts)
    for record in facts.records:
        _add_result(element, facts, record)


def _add_result(parent: ET.Element, facts: CertificateFacts, record: CertifiedRecord) -> None:
    entry, probability = record.entry, decision_of(facts).coverage_probability
    tokens = f"{ref_type(entry['analysis'])} {ref_type(entry['condition'])}"
    element = dcc(parent, "measurementResult", refType=tokens)
    said(element, "name", f"{entry['analysis']}, {entry['condition']}".replace("-", " "))
    add_methods(element, record)
    add_conditions(element, facts, record)
    results = dcc(element, "results")
    for part in parts_of_entry(entry, units_of(entry, record.channel)):
        if not part.singles and not part.tables:
            continue
        own = dcc(results, "result", refType=f"x_{part.key}")
        said(own, "name", part.name)
        data = dcc(own, "data")
        for quantity in part.singles:
            add_quantity(data, quantity, probability=probability)
        for table in part.tables:
            add_table(data, table, probability=probability)
    if not len(results):
        said(dcc(_named(results, "what was found"), "data"), "text", str(entry["statement"]))
    _add_conformity(element, entry)


def _named(parent: ET.Element, name: str) -> ET.Element:
    own = dcc(parent, "result", refType="x_whole")
    said(own, "name", name)
    return own


def _add_conformity(parent: ET.Element, entry: Mapping[str, str]) -> None:
    """The verdict; the schema has no code for one that was not verified, which is declared in words alone."""
    own = dcc(dcc(parent, "measurementMetaData"), "metaData", refType="basic_conformity")
    said(own, "name", "conformity")
    said(own, "declaration", f"Verdict: {entry['verdict']}. {entry['statement']}")
    if entry["verdict"] != NOT_VERIFIED:
        dcc(own, "conformity", token_of(entry["verdict"]))


def _add_seals(root: ET.Element, facts: CertificateFacts) -> None:
    """Which records it was made of, by their seals: own elements, which the schema admits in a comment."""
    comment = dcc(root, "comment")
    for item in facts.records:
        ET.SubElement(
            comment,
            f"{{{NAMESPACE}}}record",
            {
                "analysis": str(item.entry["analysis"]),
                "condition": str(item.entry["condition"]),
                "revision": str(item.seal.get("revision")),
                "seal": str(item.seal["digest"]),
            },
        )


def seals_in_certificate(root: ET.Element) -> tuple[str, ...]:
    """Return the seals of the records that a certificate was made of."""
    return tuple(item.get("seal", "") for item in root.iter(f"{{{NAMESPACE}}}record"))


def _add_sheet(root: ET.Element, facts: CertificateFacts, sheet: bytes) -> None:
    own = dcc(root, "document")
    said(own, "name", "the same for a person to read")
    dcc(own, "fileName", f"{facts.records[0].path.parent.name}.pdf")
    dcc(own, "mimeType", "application/pdf")
    dcc(own, "dataBase64", base64.b64encode(sheet).decode("ascii"))


def sheet_of(facts: CertificateFacts, records: Sequence[Path]) -> bytes:
    """Return the PDF of a channel: the one that lies beside its records where it is of them, or else typeset now.

    Raises ``SheetRefused``, ``NotEncoded``, ``OSError``.
    """
    from vibcal_nb.records.report.channel_report import has_own_sum, seals_in, typeset_again

    path = sheet_path(facts.records[0].path)
    if is_plain(path):
        pdf = read_plain(path)
        if has_own_sum(pdf) and {str(item.seal["digest"]) for item in facts.records} <= set(seals_in(pdf)):
            return pdf
    return typeset_again(records)
