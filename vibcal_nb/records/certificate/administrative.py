"""Who, for whom, what, when: the first part of a certificate."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from datetime import date
from typing import Any

from vibcal_nb.analysis.readings.judged_point import state_rule
from vibcal_nb.display.results.view import rule_in_short
from vibcal_nb.inputs.certificates.quantities import DCC
from vibcal_nb.model.visit import Decision
from vibcal_nb.records.certificate.certificate_facts import CertificateFacts, signers_of_all
from vibcal_nb.records.certificate.elements import LANGUAGE, NOT_RECORDED, contact, dcc, identify, said, xml_id
from vibcal_nb.records.inputs_used.encoding import decode

NAMESPACE = "urn:vibcal-nb:reftypes"
_CAUTION = (
    "By itself this is no accredited calibration. It informs a competent person and replaces neither local codes nor "
    "licensed practice."
)


def add_administrative(root: ET.Element, facts: CertificateFacts, *, issued: date, replaced: str | None) -> None:
    """Add the administrative data. ``replaced`` is the identifier of the certificate that this one takes over."""
    element = dcc(root, "administrativeData")
    _add_software(element, facts)
    _add_ref_types(element)
    _add_core(element, facts, issued, replaced)
    _add_items(element, facts)
    laboratory = dcc(element, "calibrationLaboratory")
    contact(laboratory, "contact", facts.laboratory)
    _add_persons(element, facts)
    contact(element, "customer", facts.customer)
    _add_statements(element, facts)


def decision_of(facts: CertificateFacts) -> Decision:
    """Return the decision rule of the visit, as the records state it."""
    found: Decision = decode(Decision, facts.visit.get("decision", {}))
    return found


def _add_software(parent: ET.Element, facts: CertificateFacts) -> None:
    version = facts.records[0].seal.get("environment", {}).get("vibcal_nb", "")
    release = re.match(r"\d+(\.\d+){0,3}", str(version))
    own = dcc(dcc(parent, "dccSoftware"), "software")
    said(own, "name", "vibcal_nb")
    dcc(own, "release", f"v{release[0]}" if release else "v0")
    dcc(own, "type", "application")


def _add_ref_types(parent: ET.Element) -> None:
    own = dcc(dcc(parent, "refTypeDefinitions"), "refTypeDefinition")
    said(own, "name", "quantities of a vibration channel")
    said(own, "description", "x_ and the key that the number has in the results file of the records")
    dcc(own, "namespace", "x")
    dcc(own, "link", NAMESPACE)


def _add_core(parent: ET.Element, facts: CertificateFacts, issued: date, replaced: str | None) -> None:
    core = dcc(parent, "coreData")
    dcc(core, "countryCodeISO3166_1", facts.site.country)
    dcc(core, "usedLangCodeISO639_1", LANGUAGE)
    dcc(core, "mandatoryLangCodeISO639_1", LANGUAGE)
    dcc(core, "uniqueIdentifier", facts.identifier)
    day = str(facts.visit["date"])
    dcc(core, "beginPerformanceDate", day)
    dcc(core, "endPerformanceDate", day)
    dcc(core, "performanceLocation", facts.site.place or "other")
    dcc(core, "issueDate", issued.isoformat())
    if replaced is not None:
        own = dcc(core, "reportAmendedSubstituted")
        dcc(own, "typeOfChange", "substituted")
        dcc(own, "replacedUniqueIdentifier", replaced)


def _add_items(parent: ET.Element, facts: CertificateFacts) -> None:
    """The channel is the item; what is installed in it are its parts."""
    tag, record = facts.identity["channel"], facts.records[0]
    item = dcc(dcc(parent, "items"), "item", id=xml_id("item", tag))
    said(item, "name", f"vibration channel {tag}" if "group" not in record.channel else f"group {tag}")
    asset = record.visit["asset"]
    where = f", {record.channel['location']}" if record.channel.get("location") else ""
    said(item, "description", f"asset {asset['tag']} ({asset['name']}){where}")
    identify(item, ("owner", tag, "tag"))
    parts = list(record.channel.get("items") or ())
    if parts:
        below = dcc(item, "subItems")
        for number, part in enumerate(parts, start=1):
            _add_part(below, tag, number, part)


def _add_part(parent: ET.Element, tag: str, number: int, part: Mapping[str, Any]) -> None:
    own = dcc(parent, "item", id=xml_id("item", f"{tag} {number}"))
    said(own, "name", str(part["part"]))
    if part.get("type"):
        dcc(own, "model", part["type"])
    serial = str(part.get("serial") or "").strip()
    missing = ("owner", f"{tag} {part['part']}", f"tag and part; serial number {NOT_RECORDED}")
    identify(own, ("manufacturer", serial, "serial number") if serial else missing)


def _add_persons(parent: ET.Element, facts: CertificateFacts) -> None:
    """Who performed the work, and who authorises its results: by a sign-off alone, never by a name that was typed."""
    persons = dcc(parent, "respPersons")
    signers = signers_of_all(facts)
    performed = str(facts.visit.get("performed_by") or "")
    _add_person(persons, performed, "performed the work", main=False)
    for number, name in enumerate(signers):
        roles = {item.role for item in facts.signoffs if item.name == name}
        _add_person(persons, name, f"authorises, by signed sign-off: {', '.join(sorted(roles))}", main=number == 0)


def _add_person(parent: ET.Element, name: str, role: str, *, main: bool) -> None:
    own = dcc(parent, "respPerson")
    said(dcc(own, "person"), "name", name)
    dcc(own, "role", role)
    dcc(own, "mainSigner", "true" if main else "false")


def _add_statements(parent: ET.Element, facts: CertificateFacts) -> None:
    statements = dcc(parent, "statements")
    rule = dcc(statements, "statement", refType="basic_conformity")
    said(rule, "name", "decision rule")
    for norm in ("ILAC-G8:09/2019", "JCGM 106:2012"):
        dcc(rule, "norm", norm)
    said(rule, "declaration", rule_in_short(state_rule(decision_of(facts))))
    caution = dcc(statements, "statement")
    said(caution, "name", "standing of this certificate")
    said(caution, "declaration", _CAUTION)
    if facts.missing:
        missing = dcc(statements, "statement")
        said(missing, "name", NOT_RECORDED)
        said(missing, "declaration", *[f"Not recorded: {'; '.join(facts.missing)}."])


def identifier_in(root: ET.Element) -> str:
    """Return the identifier that a certificate states; empty where it states none."""
    return (root.findtext(f".//{DCC}coreData/{DCC}uniqueIdentifier") or "").strip()
