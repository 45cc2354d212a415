"""Methods, equipment and conditions of a result."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from typing import Any

from vibcal_nb.inputs.certificates.dsi_units import dsi_text
from vibcal_nb.inputs.certificates.numbers import number_text
from vibcal_nb.model.names import AS_FOUND
from vibcal_nb.records.analyses import analysis_named
from vibcal_nb.records.certificate.certificate_facts import CertificateFacts, CertifiedRecord, equipment_of
from vibcal_nb.records.certificate.elements import NOT_RECORDED, dcc, identify, said, si, xml_id


def add_methods(parent: ET.Element, record: CertifiedRecord) -> None:
    """Add how a record was made: its own method, and how its uncertainty is stated."""
    methods = dcc(parent, "usedMethods")
    own = dcc(methods, "usedMethod")
    said(own, "name", record.entry["analysis"].replace("-", " "))
    said(own, "description", analysis_named(record.entry["analysis"]).method)
    uncertainty = dcc(methods, "usedMethod", refType="basic_methodMeasurementUncertainty")
    said(uncertainty, "name", "expanded uncertainty")
    said(uncertainty, "description", "k follows from the effective degrees of freedom for the stated probability")
    dcc(uncertainty, "norm", "JCGM 100:2008")


def add_equipment(parent: ET.Element, facts: CertificateFacts) -> None:
    """Add the references and readouts that the records used."""
    items = equipment_of(facts)
    if not items:
        return
    element = dcc(parent, "measuringEquipments")
    for item in items:
        own = dcc(element, "measuringEquipment", id=xml_id("equipment", str(item["id"])))
        said(own, "name", f"{item['id']}: {item['kind']}" if item.get("kind") else str(item["id"]))
        certificate = item.get("certificate") or f"certificate {NOT_RECORDED}"
        said(own, "description", f"{certificate}; calibrated {item['calibrated']}, relied on until {item['due']}")
        serial = str(item.get("serial") or "").strip()
        numbers = [("manufacturer", serial, "serial number")] if serial else []
        what = "name at the site" if serial else "name at the site; serial number not recorded"
        identify(own, *numbers, ("calibrationLaboratory", str(item["id"]), what))


def add_conditions(parent: ET.Element, facts: CertificateFacts, record: CertifiedRecord) -> None:
    """Add the ambient temperature, and in which condition the channel was."""
    conditions = dcc(parent, "influenceConditions")
    _add_temperature(conditions, facts.visit)
    own = dcc(conditions, "influenceCondition")
    condition = str(record.entry["condition"])
    said(own, "name", condition.replace("-", " "))
    if _adjusted(facts):
        dcc(own, "status", "beforeAdjustment" if condition == AS_FOUND else "afterAdjustment")
        words = "the channel as it was found" if condition == AS_FOUND else "the channel as it was left"
    else:
        words = f"the channel {condition.replace('-', ' ')}; the visit holds no other condition of it"
    said(dcc(own, "data"), "text", words)


def _adjusted(facts: CertificateFacts) -> bool:
    return len({item.entry["condition"] for item in facts.records}) > 1


def _add_temperature(conditions: ET.Element, visit: Mapping[str, Any]) -> None:
    own = dcc(conditions, "influenceCondition", refType="basic_temperature")
    said(own, "name", "ambient temperature")
    data = dcc(own, "data")
    if visit.get("ambient_c") is None:
        said(data, "text", NOT_RECORDED)
        return
    quantity = dcc(data, "quantity", refType="basic_temperature")
    said(quantity, "name", "ambient temperature")
    real = si(quantity, "real")
    si(real, "value", number_text(visit["ambient_c"]))
    si(real, "unit", dsi_text("°C"))
