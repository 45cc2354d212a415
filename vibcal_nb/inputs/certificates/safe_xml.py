"""XML from anywhere: a file with a declaration of types or entities is refused before any of it is expanded.

Entities, external files and the bombs that are made of both need such a declaration (XML 1.0, 2.8 and 4.2), and no
certificate has one. Size, depth and number of elements are bounded.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any
from xml.parsers import expat

from vibcal_nb.problems import Refused

MOST_BYTES = 50_000_000
MOST_ELEMENTS = 500_000
MOST_DEEP = 100
MOST_ATTRIBUTES = 50


class XmlRefused(Refused):
    """XML that is not read; the text is what was found, as a phrase."""


def parse_xml(data: bytes) -> ET.Element:
    """Return the root of an XML file, names as ``{namespace}name``, without comments. Raises ``XmlRefused``."""
    if len(data) > MOST_BYTES:
        raise XmlRefused(f"more than {MOST_BYTES // 1_000_000} MB")
    reader = _Reader()
    try:
        reader.parser.Parse(data, True)
        return reader.builder.close()
    except expat.ExpatError as error:
        raise XmlRefused(f"text that is no XML ({error})") from None
    except (UnicodeError, ValueError, LookupError) as error:
        raise XmlRefused(f"text in no encoding that is known ({type(error).__name__})") from None


class _Reader:
    """Follows the elements and hands them to a builder; counts as it goes."""

    def __init__(self) -> None:
        self.builder = ET.TreeBuilder()
        self.parser = expat.ParserCreate(namespace_separator="}")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self.builder.data
        self.parser.StartDoctypeDeclHandler = self._declared
        self.parser.EntityDeclHandler = self._declared
        self.parser.UnparsedEntityDeclHandler = self._declared
        self.parser.ExternalEntityRefHandler = self._declared
        self.depth = self.count = 0

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        self.count += 1
        if self.depth > MOST_DEEP:
            raise XmlRefused(f"elements nested more than {MOST_DEEP} deep")
        if self.count > MOST_ELEMENTS or len(attributes) > MOST_ATTRIBUTES:
            raise XmlRefused("more elements or attributes than a certificate has")
        self.builder.start(_named(name), {_named(key): value for key, value in attributes.items()})

    def _end(self, name: str) -> None:
        self.depth -= 1
        self.builder.end(_named(name))

    def _declared(self, *_: Any) -> Any:
        raise XmlRefused("a declaration of document types or entities, which no certificate has")


def _named(name: str) -> str:
    return f"{{{name}" if "}" in name else name
