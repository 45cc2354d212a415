"""A Digital Calibration Certificate read into what it says. Whether it is a good one is asked by `rules`."""

from __future__ import annotations

import hashlib
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from vibcal_nb.inputs.certificates.certificate import (
    Certificate,
    CertificateTable,
    CertifiedItem,
    Column,
    Conformity,
    Identification,
)
from vibcal_nb.inputs.certificates.dsi_units import DsiUnitRefused
from vibcal_nb.inputs.certificates.numbers import NumberRefused
from vibcal_nb.inputs.certificates.quantities import (
    DCC,
    QuantityRefused,
    columns_of,
    content_of,
    ref_types_of,
)
from vibcal_nb.inputs.certificates.safe_xml import MOST_BYTES, XmlRefused, parse_xml
from vibcal_nb.problems import Refused, file_trouble, shown

ROOT = f"{DCC}digitalCalibrationCertificate"
VERSIONS = ("2.4.0", "3.0.0", "3.1.1", "3.1.2", "3.2.0", "3.2.1", "3.3.0")
RECALIBRATION = "basic_recalibration"
_DAY = re.compile(r"\d{4}-\d\d-\d\d")


class CertificateRefused(Refused):
    """A certificate that cannot be used; the text is one sentence."""


def read_certificate_file(path: Path) -> Certificate:
    """Read a certificate's file. Raises ``CertificateRefused``."""
    try:
        if not path.is_file():
            raise CertificateRefused(f"{path.name}: found no such file; give the certificate's XML file.")
        data = path.read_bytes() if path.stat().st_size <= MOST_BYTES else b" " * (MOST_BYTES + 1)
    except OSError as error:
        raise CertificateRefused(f"{file_trouble(error)}.") from None
    return read_certificate(data, file=path.name)


def read_certificate(data: bytes, *, file: str = "certificate.xml") -> Certificate:
    """Read a certificate. Raises ``CertificateRefused``, whatever the bytes are."""
    try:
        root = parse_root(data)
        core = _found(root, "administrativeData/coreData")
        begin, end = (_day(core, name) for name in ("beginPerformanceDate", "endPerformanceDate"))
        if begin is None or end is None:
            raise XmlRefused("no beginPerformanceDate or endPerformanceDate")
        return Certificate(
            file=file,
            sha256=hashlib.sha256(data).hexdigest(),
            schema_version=root.get("schemaVersion", ""),
            identifier=_text(core, "uniqueIdentifier"),
            laboratory=content_of(root.find(_path("administrativeData/calibrationLaboratory/contact/name"))),
            customer=content_of(root.find(_path("administrativeData/customer/name"))),
            begin=begin,
            end=end,
            issued=_day(core, "issueDate"),
            due=_due(root),
            items=tuple(map(_item, root.iter(f"{DCC}item"))),
            methods=tuple(dict.fromkeys(_methods(root))),
            tables=tuple(_tables(root)),
            conformities=tuple(_conformities(root)),
        )
    except (XmlRefused, NumberRefused, QuantityRefused, DsiUnitRefused) as error:
        raise CertificateRefused(
            f"{file}: found {error}; ask who issued it for a certificate that states this as the schema has it."
        ) from None


def parse_root(data: bytes) -> ET.Element:
    """Return the root of a certificate. Raises ``XmlRefused``."""
    root = parse_xml(data)
    if root.tag != ROOT:
        raise XmlRefused(f"{shown(root.tag)} in place of a Digital Calibration Certificate")
    version = root.get("schemaVersion", "")
    if version not in VERSIONS:
        raise XmlRefused(f"schema version {shown(version)}; what is known is {', '.join(VERSIONS)}")
    return root


def _path(path: str) -> str:
    return "/".join(f"{DCC}{name}" for name in path.split("/"))


def _found(root: ET.Element, path: str) -> ET.Element:
    found = root.find(_path(path))
    if found is None:
        raise XmlRefused(f"no {path}")
    return found


def _text(element: ET.Element, name: str) -> str:
    return " ".join((element.findtext(f"{DCC}{name}") or "").split())


def _day(element: ET.Element, name: str) -> date | None:
    text = _text(element, name)
    if not text:
        return None
    try:
        return date.fromisoformat(text[:10] if _DAY.match(text) else text)
    except ValueError:
        raise XmlRefused(f"{shown(text)} in {name}, which is no day") from None


def _due(root: ET.Element) -> date | None:
    """The day of recalibration, where a statement recommends one (``basic_recalibration``)."""
    for statement in (*root.iter(f"{DCC}statement"), *root.iter(f"{DCC}metaData")):
        if RECALIBRATION in ref_types_of(statement):
            return _day(statement, "date")
    return None


def _item(element: ET.Element) -> CertifiedItem:
    own = element.find(f"{DCC}identifications")
    return CertifiedItem(
        name=content_of(element.find(f"{DCC}name")),
        model=_text(element, "model"),
        identifications=tuple(
            Identification(
                issuer=_text(found, "issuer"),
                value=_text(found, "value"),
                name=content_of(found.find(f"{DCC}name")),
            )
            for found in (() if own is None else own)
        ),
    )


def _methods(root: ET.Element) -> Iterator[str]:
    for method in root.iter(f"{DCC}usedMethod"):
        norms = [" ".join((norm.text or "").split()) for norm in method.findall(f"{DCC}norm")]
        yield ", ".join([content_of(method.find(f"{DCC}name")), *norms])


def _tables(root: ET.Element) -> Iterator[CertificateTable]:
    """Yield every list of quantities, and the data of every result, with the names of what they stand in."""
    for measurement in root.iter(f"{DCC}measurementResult"):
        first = content_of(measurement.find(f"{DCC}name"))
        for result in measurement.iter(f"{DCC}result"):
            path = (first, content_of(result.find(f"{DCC}name")))
            data = result.find(f"{DCC}data")
            if data is not None:
                yield from _tables_in(data, path, ref_types_of(result))


def _tables_in(data: ET.Element, path: tuple[str, ...], ref_types: tuple[str, ...]) -> Iterator[CertificateTable]:
    columns: list[Column] = []
    for child in data:
        if child.tag == f"{DCC}quantity":
            columns += columns_of(child)
        elif child.tag == f"{DCC}list":
            name = content_of(child.find(f"{DCC}name"))
            yield from _tables_in(child, (*path, name) if name else path, (*ref_types, *ref_types_of(child)))
    if columns:
        yield CertificateTable(path=path, ref_types=ref_types, columns=tuple(columns))


def _conformities(root: ET.Element) -> Iterator[Conformity]:
    for measurement in root.iter(f"{DCC}measurementResult"):
        name = content_of(measurement.find(f"{DCC}name"))
        for statement in measurement.iter(f"{DCC}metaData"):
            codes = _text(statement, "conformity") or _text(statement, "conformityXMLList")
            if codes or "basic_conformity" in ref_types_of(statement):
                yield Conformity(
                    result=name,
                    ref_types=ref_types_of(measurement),
                    codes=tuple(codes.split()),
                    declaration=content_of(statement.find(f"{DCC}declaration")),
                )
