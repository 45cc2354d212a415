"""What no schema checks of a certificate: list lengths, units, languages, dates, references, numbers, releases.

Each rule names its source: the schema's own documentation (DCC 3.3.0, D-SI 2.2.1), or the institute's Schematron of
the same version. Order and presence of elements is what the schema is for; the elements without which nothing of a
certificate can be used are asked for here, too, so that a file is checked where no schema is at hand.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from datetime import date

from vibcal_nb.inputs.certificates.dsi_units import DsiUnitRefused, parse_dsi
from vibcal_nb.inputs.certificates.languages import COUNTRIES, LANGUAGES
from vibcal_nb.inputs.certificates.numbers import NumberRefused, read_factors, read_numbers, read_probabilities
from vibcal_nb.inputs.certificates.quantities import DCC, SI, QuantityRefused, columns_of, content_of
from vibcal_nb.inputs.certificates.read_certificate import parse_root
from vibcal_nb.inputs.certificates.safe_xml import XmlRefused
from vibcal_nb.metrology.conformity.decision import FAIL, PASS
from vibcal_nb.problems import shown

_REQUIRED = (
    "administrativeData/dccSoftware/software",
    "administrativeData/coreData/countryCodeISO3166_1",
    "administrativeData/coreData/usedLangCodeISO639_1",
    "administrativeData/coreData/mandatoryLangCodeISO639_1",
    "administrativeData/coreData/uniqueIdentifier",
    "administrativeData/coreData/beginPerformanceDate",
    "administrativeData/coreData/endPerformanceDate",
    "administrativeData/coreData/performanceLocation",
    "administrativeData/items/item/name",
    "administrativeData/items/item/identifications/identification",
    "administrativeData/calibrationLaboratory/contact/name",
    "administrativeData/calibrationLaboratory/contact/location",
    "administrativeData/respPersons/respPerson/person/name",
    "administrativeData/customer/name",
    "administrativeData/customer/location",
    "measurementResults/measurementResult/results/result/data",
)
_CONFORMITY = {PASS, FAIL, "conditionalPass", "conditionalFail", "noPass", "noFail"}
_RELEASE = re.compile(r"v?\d+(\.\d+)*([-+.][0-9A-Za-z.+-]*)?")
_UNIT_TAGS = {f"{SI}{name}" for name in ("unit", "unitXMLList", "listUnit", "unitPhase", "unitPhaseXMLList")}


def certificate_problems(data: bytes) -> list[str]:
    """List in clauses what is wrong with a certificate; nothing where all rules hold."""
    try:
        root = parse_root(data)
    except XmlRefused as error:
        return [str(error)]
    return [problem for rule in _RULES for problem in rule(root)]


def _required(root: ET.Element) -> Iterator[str]:
    for path in _REQUIRED:
        if root.find("/".join(f"{DCC}{name}" for name in path.split("/"))) is None:
            yield f"{path} is missing"


def _dates(root: ET.Element) -> Iterator[str]:
    """The end is no earlier than the beginning (Schematron), and none is issued before its end."""
    days: dict[str, date] = {}
    for name in ("beginPerformanceDate", "endPerformanceDate", "issueDate"):
        text = (root.findtext(f".//{DCC}coreData/{DCC}{name}") or "").strip()
        try:
            days |= {name: date.fromisoformat(text)} if text else {}
        except ValueError:
            yield f"{name} is {shown(text)}, which is no day"
    begin, end = days.get("beginPerformanceDate"), days.get("endPerformanceDate")
    if begin and end and end < begin:
        yield f"endPerformanceDate {end} is before beginPerformanceDate {begin}"
    if end and "issueDate" in days and days["issueDate"] < end:
        yield f"issueDate {days['issueDate']} is before endPerformanceDate {end}"


def _languages(root: ET.Element) -> Iterator[str]:
    """Every text is there in every declared language and in no other; codes are of the lists (Schematron)."""
    used, mandatory = (
        [(item.text or "").strip() for item in root.iter(f"{DCC}{name}")]
        for name in ("usedLangCodeISO639_1", "mandatoryLangCodeISO639_1")
    )
    for codes in (used, mandatory):
        yield from (f"language {code} is declared twice" for code in sorted({c for c in codes if codes.count(c) > 1}))
        yield from (f"language {shown(code)} is none of ISO 639-1" for code in codes if code not in LANGUAGES)
    for code in root.iter(f"{DCC}countryCodeISO3166_1"):
        if (code.text or "").strip() not in COUNTRIES:
            yield f"country {shown(code.text)} is none of ISO 3166-1"
    for parent in root.iter():
        texts = [item for item in parent if item.tag == f"{DCC}content"]
        said = [item.get("lang") for item in texts]
        yield from (f"a text in the undeclared language {shown(lang)}" for lang in said if lang and lang not in used)
        missing = [code for code in mandatory if code not in said]
        if texts and missing and any(said):
            yield f"the text {shown(texts[0].text)} is missing in {', '.join(missing)}"
        if texts and None in said:
            yield f"the text {shown(texts[0].text)} states no language"


def _references(root: ET.Element) -> Iterator[str]:
    """Every refId leads to an id, and no id stands twice (Schematron; not every validator looks)."""
    ids = [item.get("id") for item in root.iter() if item.get("id")]
    yield from (f"id {name} stands twice" for name in sorted({str(name) for name in ids if ids.count(name) > 1}))
    for item in root.iter():
        yield from (f"refId {name} leads nowhere" for name in (item.get("refId") or "").split() if name not in ids)


def _quantities(root: ET.Element) -> Iterator[str]:
    """Lists have one length or hold one value for all; units are of D-SI; numbers have the schema's form."""
    for quantity in root.iter(f"{DCC}quantity"):
        name = content_of(quantity.find(f"{DCC}name")) or quantity.get("refType") or "a quantity"
        try:
            list(columns_of(quantity))
        except (QuantityRefused, NumberRefused, DsiUnitRefused) as error:
            yield f"{name}: {error}"
        if quantity.find(f"{DCC}relativeUncertainty") is not None and _expanded(quantity):
            yield f"{name}: a relative uncertainty beside an expanded one (Schematron)"
    for element in root.iter():
        if element.tag in _UNIT_TAGS:
            yield from _unit_problems(element.text or "")
    yield from _forms(root)


def _expanded(quantity: ET.Element) -> bool:
    return any("expanded" in item.tag for item in quantity.iter())


def _unit_problems(text: str) -> Iterator[str]:
    for word in text.split() or [""]:
        try:
            parse_dsi(word)
        except DsiUnitRefused as error:
            yield str(error)


def _forms(root: ET.Element) -> Iterator[str]:
    readers = {"coverageFactor": read_factors, "coverageProbability": read_probabilities, "value": read_numbers}
    for element in root.iter():
        name = element.tag.removeprefix(SI).removesuffix("XMLList") if element.tag.startswith(SI) else ""
        if name in readers:
            try:
                readers[name](element.text)
            except NumberRefused as error:
                yield f"{name}: {error}"


def _tables(root: ET.Element) -> Iterator[str]:
    """The quantities of a list belong together, row by row: they have one length, or hold one value for all."""
    for table in root.iter(f"{DCC}list"):
        lengths: dict[str, int] = {}
        for quantity in table.findall(f"{DCC}quantity"):
            try:
                lengths |= {item.title: max(len(item.values), len(item.words)) for item in columns_of(quantity)}
            except (QuantityRefused, NumberRefused, DsiUnitRefused):
                return
        whole = max(lengths.values(), default=0)
        yield from (f"{name}: {n} values in a list of {whole}" for name, n in lengths.items() if n not in (1, whole))


def _statements(root: ET.Element) -> Iterator[str]:
    for name in ("conformity", "conformityXMLList"):
        for element in root.iter(f"{DCC}{name}"):
            yield from (
                f"conformity {shown(word)} is no code"
                for word in (element.text or "").split()
                if word not in _CONFORMITY
            )
    for software in root.iter(f"{DCC}software"):
        release = (software.findtext(f"{DCC}release") or "").strip()
        if not _RELEASE.fullmatch(release):
            yield f"release {shown(release)} is no version such as v1.2.3 (Schematron)"


def _methods(root: ET.Element) -> Iterator[str]:
    """Every quantity has methods and conditions, its own or those of all results (Schematron)."""
    results = root.find(f"{DCC}measurementResults")
    for name in ("usedMethods", "influenceConditions"):
        if results is None or results.find(f"{DCC}{name}") is not None:
            continue
        for measurement in results.findall(f"{DCC}measurementResult"):
            if measurement.find(f"{DCC}{name}") is None and not all(
                item.find(f"{DCC}{name}") is not None for item in measurement.iter(f"{DCC}quantity")
            ):
                yield f"{content_of(measurement.find(f'{DCC}name'))}: no {name}"


_RULES = (_required, _dates, _languages, _references, _quantities, _tables, _statements, _methods)
