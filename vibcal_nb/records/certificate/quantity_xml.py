"""Quantities as elements: lists with expanded uncertainty, single values, words, or why there is no value."""

from __future__ import annotations

import xml.etree.ElementTree as ET

from vibcal_nb.inputs.certificates.numbers import number_text, plain_text
from vibcal_nb.records.certificate.elements import dcc, said, si
from vibcal_nb.records.certificate.entry_quantities import Numbers, Quantity, QuantityTable


def add_table(parent: ET.Element, table: QuantityTable, *, probability: float) -> None:
    """Add a table as a list of quantities, each a list of its values."""
    element = dcc(parent, "list", refType=f"basic_1IndexTable x_table_{table.key}")
    said(element, "name", table.name)
    if table.remarks:
        said(element, "description", "; ".join(table.remarks))
    for column in table.columns:
        add_quantity(element, column, probability=probability)


def add_quantity(parent: ET.Element, quantity: Quantity, *, probability: float) -> None:
    """Add one quantity. ``probability`` is what its expanded uncertainty is stated for."""
    element = dcc(parent, "quantity", refType=" ".join(quantity.ref_types))
    said(element, "name", quantity.name)
    if quantity.reason is not None:
        said(element, "noQuantity", quantity.reason)
    elif quantity.words is not None:
        dcc(element, "charsXMLList", " ".join(quantity.words))
    elif quantity.single:
        _add_single(element, quantity, probability)
    else:
        _add_list(element, quantity, probability)


def _add_single(parent: ET.Element, quantity: Quantity, probability: float) -> None:
    real = si(parent, "real")
    si(real, "value", number_text(quantity.values[0]))
    si(real, "unit", quantity.units[0])
    if quantity.U is None or quantity.k is None:
        return
    own = si(real, "measurementUncertaintyUnivariate")
    if _is_factor(quantity.k):
        expanded = si(own, "expandedMU")
        si(expanded, "valueExpandedMU", number_text(quantity.U[0]))
        si(expanded, "coverageFactor", plain_text(quantity.k[0]))
        si(expanded, "coverageProbability", plain_text(probability))
    else:
        si(si(own, "standardMU"), "valueStandardMU", number_text(_standard(quantity.U, quantity.k)[0]))


def _add_list(parent: ET.Element, quantity: Quantity, probability: float) -> None:
    numbers = si(parent, "realListXMLList")
    si(numbers, "valueXMLList", " ".join(map(number_text, quantity.values)))
    si(numbers, "unitXMLList", " ".join(quantity.units))
    if quantity.U is None or quantity.k is None:
        return
    own = si(numbers, "measurementUncertaintyUnivariateXMLList")
    if _is_factor(quantity.k):
        expanded = si(own, "expandedMUXMLList")
        si(expanded, "valueExpandedMUXMLList", " ".join(map(number_text, quantity.U)))
        si(expanded, "coverageFactorXMLList", " ".join(map(plain_text, quantity.k)))
        known = [plain_text(None if k is None else probability) for k in quantity.k]
        si(expanded, "coverageProbabilityXMLList", " ".join(known))
    else:
        standard = " ".join(map(number_text, _standard(quantity.U, quantity.k)))
        si(si(own, "standardMUXMLList"), "valueStandardMUXMLList", standard)


def _is_factor(k: Numbers) -> bool:
    """Whether the schema admits the coverage factors, which it does from 1 on."""
    return all(value is None or value >= 1.0 for value in k)


def _standard(U: Numbers, k: Numbers) -> list[float | None]:
    return [None if a is None or b is None else a / b for a, b in zip(U, k, strict=True)]
