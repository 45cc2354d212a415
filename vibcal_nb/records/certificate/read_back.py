"""Quantities of a certificate by the keys of the entry that they came from: what a machine gets out of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.inputs.certificates.certificate import Certificate, Column


@dataclass(frozen=True, kw_only=True)
class ReadPart:
    """What a certificate says of one result: its name, the name of its table or None, and columns by their keys."""

    result: str
    part: str
    table: str | None
    columns: dict[str, Column]


def read_parts(certificate: Certificate) -> Iterator[ReadPart]:
    """Yield what a certificate holds by private refTypes, in its order."""
    for table in certificate.tables:
        own = [token.removeprefix("x_table_") for token in table.ref_types if token.startswith("x_table_")]
        columns: dict[str, Column] = {}
        for column in table.columns:
            keys = [token.removeprefix("x_") for token in column.ref_types if token.startswith("x_")]
            columns |= dict.fromkeys(keys[:1], column)
        part = table.path[1] if len(table.path) > 1 else ""
        yield ReadPart(result=table.path[0], part=part, table=own[0] if own else None, columns=columns)
