"""What a Digital Calibration Certificate says, frozen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Kind = Literal["real", "magnitude", "phase", "words"]


@dataclass(frozen=True, kw_only=True)
class Column:
    """One quantity: its values with their units and uncertainties, or words.

    ``values`` holds None for a gap. ``units`` has one unit for all values, or one each. ``standard`` is the standard
    uncertainty in the value's own unit, ``k`` and ``probability`` what was stated with an expanded one; None where
    nothing is stated. ``words`` holds the tokens of a list of texts.
    """

    name: str
    label: str
    ref_types: tuple[str, ...]
    kind: Kind
    values: tuple[float | None, ...] = ()
    units: tuple[str, ...] = ()
    standard: tuple[float | None, ...] | None = None
    expanded: tuple[float | None, ...] | None = None
    k: tuple[float | None, ...] | None = None
    probability: tuple[float | None, ...] | None = None
    words: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What a person would call it: its name, or else its label."""
        return self.name or self.label or " ".join(self.ref_types) or "a quantity without a name"


@dataclass(frozen=True, kw_only=True)
class CertificateTable:
    """Quantities that belong together: a list of them, or the data of a result; ``path`` names where it stands."""

    path: tuple[str, ...]
    ref_types: tuple[str, ...]
    columns: tuple[Column, ...]

    @property
    def title(self) -> str:
        """Where it stands, for a person."""
        return " / ".join(part for part in self.path if part) or "a table without a name"


@dataclass(frozen=True, kw_only=True)
class Identification:
    """A number by which an item is known: who gave it, the number, what it is."""

    issuer: str
    value: str
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class CertifiedItem:
    """An item that was calibrated; parts of it are items of their own."""

    name: str
    model: str
    identifications: tuple[Identification, ...]


@dataclass(frozen=True, kw_only=True)
class Conformity:
    """A statement of conformity: the result it is of, its code or codes, what it declares."""

    result: str
    ref_types: tuple[str, ...]
    codes: tuple[str, ...]
    declaration: str


@dataclass(frozen=True, kw_only=True)
class Certificate:
    """A certificate: who issued it for whom, what was calibrated and when, and every quantity.

    ``sha256`` is the sum of the file. ``due`` is the day until which it recommends to be relied on, None where it
    recommends none, as is usual.
    """

    file: str
    sha256: str
    schema_version: str
    identifier: str
    laboratory: str
    customer: str
    begin: date
    end: date
    issued: date | None
    due: date | None
    items: tuple[CertifiedItem, ...]
    methods: tuple[str, ...]
    tables: tuple[CertificateTable, ...]
    conformities: tuple[Conformity, ...]

    @property
    def serials(self) -> tuple[str, ...]:
        """Every number by which an item of it is known."""
        return tuple(found.value for item in self.items for found in item.identifications)
