"""A certificate held against the records that it names: its results are made again of them and compared.

What the site's files state (laboratory, customer, country) is theirs, and is not compared.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

from vibcal_nb.inputs.certificates.quantities import DCC
from vibcal_nb.inputs.certificates.read_certificate import parse_root
from vibcal_nb.inputs.certificates.rules import certificate_problems
from vibcal_nb.inputs.certificates.safe_xml import XmlRefused
from vibcal_nb.model.site.site_facts import SiteFacts
from vibcal_nb.records.certificate.certificate_facts import CertificateFacts, CertificateNotMade, gather_facts
from vibcal_nb.records.certificate.write_certificate import ENDING, results_element, seals_in_certificate
from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.running.verify.states import Verified, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier

_ANY = SiteFacts(country="GB")  # what the site states is no part of the results


def is_certificate(path: Path) -> bool:
    """Whether a file of a records folder is the certificate of a channel, or one that was put aside."""
    return path.name.endswith(ENDING) and (path.parent.name == SUPERSEDED or path.name == f"{path.parent.name}{ENDING}")


def verify_certificate(path: Path, verifier: Verifier) -> Verified:
    """Verify a certificate. Raises ``OSError``."""
    data = read_plain(path)
    try:
        root = parse_root(data)
    except XmlRefused as error:
        return Verified(path=path, findings=(altered(f"this is no certificate: {error}"),))
    findings = [altered(problem) for problem in certificate_problems(data)[:5]]
    if path.parent.name == SUPERSEDED:
        return Verified(path=path, findings=tuple(findings), said=("a certificate that another took over",))
    seals, known = seals_in_certificate(root), verifier.records_of(path.parent)
    if not seals or not set(seals) <= set(known):
        return Verified(path=path, findings=(*findings, altered("it names records that are not here")))
    records = [known[seal] for seal in seals]
    if any(record.parent.name == SUPERSEDED for record in records):
        findings.append(incomplete("it is of an earlier revision of its records (write it anew: certificate)"))
        return Verified(path=path, findings=tuple(findings))
    try:
        facts = gather_facts(records, _ANY)
    except CertificateNotMade as error:
        return Verified(path=path, findings=(*findings, altered(str(error))))
    if _differs(root, facts):
        findings.append(altered("its results are not those of the records that it names"))
    said = () if findings else (f"results of {len(records)} records as these have them",)
    return Verified(path=path, findings=tuple(findings), said=said)


def _differs(root: ET.Element, facts: CertificateFacts) -> bool:
    own = root.find(f"{DCC}measurementResults")
    return own is None or _plain(own) != _plain(results_element(facts))


def _plain(element: ET.Element) -> str:
    """The element in canonical form, whatever blanks it was written with."""
    return ET.canonicalize(ET.tostring(element, encoding="unicode"), strip_text=True)
