"""Elements of the schema: texts with their language, identifications, parties."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from vibcal_nb.inputs.certificates.quantities import DCC, SI
from vibcal_nb.model.site.site_facts import Party

LANGUAGE = "en"
NOT_RECORDED = "not recorded"

ET.register_namespace("dcc", DCC.strip("{}"))
ET.register_namespace("si", SI.strip("{}"))

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, 2.2: no character data


def cleaned(text: str) -> str:
    """Return a text that XML can hold, on one line."""
    return " ".join(_FORBIDDEN.sub(" ", text).split())


def dcc(parent: ET.Element, name: str, text: str | None = None, **attributes: str) -> ET.Element:
    """Add an element of the certificate's namespace and return it."""
    return _added(parent, f"{DCC}{name}", text, attributes)


def si(parent: ET.Element, name: str, text: str | None = None) -> ET.Element:
    """Add an element of the namespace of units and return it."""
    return _added(parent, f"{SI}{name}", text, {})


def _added(parent: ET.Element, tag: str, text: str | None, attributes: dict[str, str]) -> ET.Element:
    element = ET.SubElement(parent, tag, attributes)
    if text is not None:
        element.text = cleaned(text)
    return element


def said(parent: ET.Element, name: str, *texts: str) -> ET.Element:
    """Add an element that holds texts in the certificate's language, and return it."""
    element = dcc(parent, name)
    for text in texts:
        dcc(element, "content", text or NOT_RECORDED, lang=LANGUAGE)
    return element


def identify(parent: ET.Element, *numbers: tuple[str, str, str]) -> None:
    """Add identifications: who gave the number, the number, what it is."""
    element = dcc(parent, "identifications")
    for issuer, value, name in numbers:
        own = dcc(element, "identification")
        dcc(own, "issuer", issuer)
        dcc(own, "value", value)
        said(own, "name", name)


def contact(parent: ET.Element, name: str, party: Party) -> ET.Element:
    """Add a party with its address; what is not stated is called not recorded."""
    element = dcc(parent, name)
    said(element, "name", party.name)
    if party.email:
        dcc(element, "eMail", party.email)
    location = dcc(element, "location")
    for key, text in (
        ("city", party.city),
        ("countryCode", party.country),
        ("postCode", party.post_code),
        ("street", party.street),
    ):
        if text:
            dcc(location, key, text)
    if not party.has_address:
        said(location, "further", NOT_RECORDED)
    return element


def xml_id(prefix: str, name: str) -> str:
    """Return an identifier that XML admits (a name without colons) for whatever a person calls something."""
    return f"{prefix}_" + "".join(c if c.isascii() and c.isalnum() else f"_{ord(c):x}_" for c in name)
