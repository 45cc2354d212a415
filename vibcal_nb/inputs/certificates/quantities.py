"""The quantities of a certificate: lists, rows, polar pairs, hybrids, each taken apart into columns.

A leaf of an ``si:list`` or ``si:hybrid`` has its own label or that of the list around it; leaves of one label are a
column, whether the file goes by rows or by columns. Of a hybrid, which states the same several times in other units,
the columns are alternatives; the first in D-SI units counts, and the others agree with it.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, TypeVar

from vibcal_nb.inputs.certificates.certificate import Column, Kind
from vibcal_nb.inputs.certificates.dsi_units import DsiUnitRefused, parse_dsi
from vibcal_nb.inputs.certificates.numbers import read_factors, read_numbers, read_probabilities
from vibcal_nb.problems import Refused, shown

DCC = "{https://ptb.de/dcc}"
SI = "{https://ptb.de/si}"
_AGREE = 1e-6

Values = tuple[float | None, ...]
T = TypeVar("T")


class QuantityRefused(Refused):
    """A quantity that does not say what it must; the text is what was found, as a phrase."""


def content_of(element: ET.Element | None) -> str:
    """Return the text of a ``dcc:textType``: the English one, or else the first."""
    if element is None:
        return ""
    texts = [item for item in element if item.tag == f"{DCC}content"]
    english = [item for item in texts if item.get("lang") == "en"]
    return " ".join(((english or texts)[0].text or "").split()) if texts else ""


def ref_types_of(element: ET.Element) -> tuple[str, ...]:
    """Return the tokens of an element's ``refType``."""
    return tuple((element.get("refType") or "").split())


def columns_of(quantity: ET.Element) -> Iterator[Column]:
    """Yield the columns of a ``dcc:quantity``. Raises ``QuantityRefused``, ``NumberRefused``."""
    name, ref_types = content_of(quantity.find(f"{DCC}name")), ref_types_of(quantity)
    for child in quantity:
        if child.tag == f"{DCC}charsXMLList":
            words = tuple((child.text or "").split())
            yield Column(name=name, label="", ref_types=ref_types, kind="words", words=words)
        elif child.tag.startswith(SI):
            found = _hybrid(child) if child.tag == f"{SI}hybrid" else list(_columns(child, ""))
            yield from (_relative(replace(item, name=name, ref_types=ref_types), quantity) for item in found)


def _hybrid(element: ET.Element) -> list[Column]:
    alternatives = [list(_columns(child, "")) for child in element]
    known = [columns for columns in alternatives if columns and all(map(_in_known_units, columns))]
    if not known:
        raise QuantityRefused("a hybrid of which no part is in units of D-SI")
    first, *others = known
    for columns in others:
        for one, other in zip(first, columns, strict=False):
            _check_agree(one, other)
    return first


def _in_known_units(column: Column) -> bool:
    try:
        return all(parse_dsi(unit) for unit in column.units)
    except DsiUnitRefused:
        return False


def _check_agree(one: Column, other: Column) -> None:
    """Two parts of a hybrid say the same, where their units are of one dimension."""
    a, b = parse_dsi(one.units[0]), parse_dsi(other.units[0])
    same = a.dimension == b.dimension and "degreecelsius" not in a.names | b.names and not a.is_logarithmic
    if not same or len(one.values) != len(other.values):
        return
    for x, y in zip(one.values, other.values, strict=True):
        if x is not None and y is not None and not math.isclose(x * a.factor, y * b.factor, rel_tol=_AGREE):
            raise QuantityRefused(f"a hybrid whose parts differ: {x:g} {one.units[0]} and {y:g} {other.units[0]}")


def _columns(element: ET.Element, label: str) -> Iterator[Column]:
    kind = element.tag.removeprefix(SI)
    if kind == "realListXMLList":
        yield _real_list(element)
    elif kind == "complexListXMLList":
        yield from _complex_list(element)
    elif kind in ("list", "realList", "complexList"):
        yield from _by_label(_leaves(element, label, {}))
    elif kind in ("real", "constant", "complex"):
        yield from _leaf(element, label, {})


def _leaves(element: ET.Element, label: str, inherited: dict[str, str]) -> Iterator[Column]:
    """Yield every leaf of nested lists, one value each, with the label and unit of the list around it."""
    own = (element.findtext(f"{SI}label") or "").strip() or label
    units = dict(inherited)
    for name, key in (("listUnit", "unit"), ("listUnitPhase", "unitPhase")):
        found = element.findtext(f"{SI}{name}")
        units |= {} if found is None else {key: found.strip()}
    common = element.find(f"{SI}listMeasurementUncertaintyUnivariate")
    common = element.find(f"{SI}listUnivariateUnc") if common is None else common
    for child in element:
        kind = child.tag.removeprefix(SI)
        if kind in ("list", "realList", "complexList"):
            yield from _leaves(child, own, units)
        elif kind in ("realListXMLList", "complexListXMLList"):
            yield from _columns(child, own)
        elif kind in ("real", "complex"):
            for leaf in _leaf(child, own, units):
                yield leaf if leaf.standard is not None or common is None else replace(leaf, **_uncertainty(common, 1))


def _by_label(leaves: Iterator[Column]) -> Iterator[Column]:
    groups: dict[tuple[str, str], list[Column]] = {}
    for leaf in leaves:
        groups.setdefault((leaf.label, leaf.kind), []).append(leaf)
    for parts in groups.values():
        yield parts[0] if len(parts) == 1 else _joined(parts)


def _joined(parts: list[Column]) -> Column:
    first = parts[0]
    count = [len(part.values) for part in parts]

    def join(name: str) -> Any:
        lists = [getattr(part, name) for part in parts]
        if all(item is None for item in lists):
            return None
        return tuple(
            value
            for item, n in zip(lists, count, strict=True)
            for value in ((None,) * n if item is None else _spread(item, n, name))
        )

    return replace(
        first,
        values=tuple(value for part in parts for value in part.values),
        units=tuple(unit for part, n in zip(parts, count, strict=True) for unit in _spread(part.units, n, "unit")),
        standard=join("standard"),
        expanded=join("expanded"),
        k=join("k"),
        probability=join("probability"),
    )


def _leaf(element: ET.Element, label: str, inherited: dict[str, str]) -> Iterator[Column]:
    own = (element.findtext(f"{SI}label") or "").strip() or label
    unit = (element.findtext(f"{SI}unit") or inherited.get("unit") or "").strip()
    value = element.findtext(f"{SI}value")
    if value is not None:
        values = tuple(read_numbers(value))
        given = {} if element.tag == f"{SI}constant" else _uncertainty(element, len(values))
        yield Column(name="", label=own, ref_types=(), kind="real", values=values, units=(unit,), **given)
        return
    magnitude, phase = element.findtext(f"{SI}valueMagnitude"), element.findtext(f"{SI}valuePhase")
    unit_phase = (element.findtext(f"{SI}unitPhase") or inherited.get("unitPhase") or "").strip()
    if magnitude is None or phase is None:
        real, imaginary = element.findtext(f"{SI}valueReal"), element.findtext(f"{SI}valueImag")
        yield from _from_rectangular(own, read_numbers(real), read_numbers(imaginary), (unit,))
        return
    yield from _polar(own, read_numbers(magnitude), read_numbers(phase), ((unit,), (unit_phase,)), _region(element))


def _real_list(element: ET.Element) -> Column:
    values = tuple(read_numbers(element.findtext(f"{SI}valueXMLList")))
    units = tuple((element.findtext(f"{SI}unitXMLList") or "").split())
    labels = (element.findtext(f"{SI}labelXMLList") or "").split()
    _check_length(units, len(values), "units")
    given = _uncertainty(element, len(values))
    label = labels[0] if len(set(labels)) == 1 else ""
    return Column(name="", label=label, ref_types=(), kind="real", values=values, units=units, **given)


def _complex_list(element: ET.Element) -> Iterator[Column]:
    units = tuple((element.findtext(f"{SI}unitXMLList") or "").split())
    phase_units = tuple((element.findtext(f"{SI}unitPhaseXMLList") or "").split())
    labels = (element.findtext(f"{SI}labelXMLList") or "").split()
    label = labels[0] if len(set(labels)) == 1 else ""
    magnitude = element.findtext(f"{SI}valueMagnitudeXMLList")
    if magnitude is None:
        real, imaginary = element.findtext(f"{SI}valueRealXMLList"), element.findtext(f"{SI}valueImagXMLList")
        yield from _from_rectangular(label, read_numbers(real), read_numbers(imaginary), units)
        return
    phase = read_numbers(element.findtext(f"{SI}valuePhaseXMLList"))
    yield from _polar(label, read_numbers(magnitude), phase, (units, phase_units), _region(element))


def _polar(
    label: str,
    magnitude: list[float | None],
    phase: list[float | None],
    units: tuple[tuple[str, ...], tuple[str, ...]],
    region: tuple[Values, Values] | None,
) -> Iterator[Column]:
    if len(magnitude) != len(phase):
        raise QuantityRefused(f"{len(magnitude)} magnitudes with {len(phase)} phases")
    kinds: tuple[tuple[Kind, list[float | None]], ...] = (("magnitude", magnitude), ("phase", phase))
    for place, (kind, values) in enumerate(kinds):
        _check_length(units[place], len(values), "units")
        standard = None if region is None else _spread(region[place], len(values), "variances")
        yield Column(
            name="", label=label, ref_types=(), kind=kind, values=tuple(values), units=units[place], standard=standard
        )


def _from_rectangular(
    label: str, real: list[float | None], imaginary: list[float | None], units: tuple[str, ...]
) -> Iterator[Column]:
    """Magnitude and phase of what is stated by real and imaginary part; its uncertainty is left aside."""
    if len(real) != len(imaginary):
        raise QuantityRefused(f"{len(real)} real parts with {len(imaginary)} imaginary ones")
    pairs = [None if None in pair else pair for pair in zip(real, imaginary, strict=True)]
    magnitude = [None if pair is None else math.hypot(pair[0] or 0.0, pair[1] or 0.0) for pair in pairs]
    phase = [None if pair is None else math.degrees(math.atan2(pair[1] or 0.0, pair[0] or 0.0)) for pair in pairs]
    yield from _polar(label, magnitude, phase, (units, ("\\degree",)), None)


def _region(element: ET.Element) -> tuple[Values, Values] | None:
    """Standard uncertainties of magnitude and phase from the diagonal of a covariance matrix, column by column."""
    many = next(element.iter(f"{SI}covarianceMatrixXMLList"), None)
    if many is not None:
        columns = [list(column) for column in many.findall(f"{SI}columnXMLList")]
        text = f"{SI}valueXMLList"
    else:
        one = next(element.iter(f"{SI}covarianceMatrix"), None)
        if one is None:
            return None
        columns, text = [list(column) for column in one.findall(f"{SI}column")], f"{SI}value"
    if len(columns) != 2 or any(len(column) != 2 for column in columns):
        raise QuantityRefused("a covariance matrix that is not 2 by 2")
    first, second = (read_numbers(columns[place][place].findtext(text)) for place in (0, 1))
    return _roots(first), _roots(second)


def _roots(variances: list[float | None]) -> Values:
    if any(value is not None and value < 0.0 for value in variances):
        raise QuantityRefused("a variance below nought")
    return tuple(None if value is None else math.sqrt(value) for value in variances)


_EXPANDED = ("valueExpandedMU", "uncertainty")
_STANDARD = ("valueStandardMU", "standardUnc")


def _uncertainty(element: ET.Element, count: int) -> dict[str, Any]:
    """What a quantity states of its uncertainty; nothing where it states none. A list of one holds for all."""
    expanded, standard = _first(element, _EXPANDED), _first(element, _STANDARD)
    if expanded is not None:
        k_text, p_text = _first(element, ("coverageFactor",)), _first(element, ("coverageProbability",))
        U = _spread(tuple(read_numbers(expanded)), count, "expanded uncertainties")
        k = _spread(tuple(read_factors(k_text)), count, "coverage factors")
        p = _spread(tuple(read_probabilities(p_text)), count, "coverage probabilities")
        u = tuple(None if a is None or b is None else a / b for a, b in zip(U, k, strict=True))
        return {"standard": u, "expanded": U, "k": k, "probability": p}
    if standard is not None:
        return {"standard": _spread(tuple(read_numbers(standard)), count, "standard uncertainties")}
    return {}


def _first(element: ET.Element, names: tuple[str, ...]) -> str | None:
    """The text of the first element below of one of these names, as a list or not."""
    wanted = {f"{SI}{name}{ending}" for name in names for ending in ("", "XMLList")}
    inside = (item for child in element if child.tag not in (f"{SI}real", f"{SI}complex") for item in child.iter())
    return next((item.text or "" for item in inside if item.tag in wanted), None)


def _relative(column: Column, quantity: ET.Element) -> Column:
    """Take a relative uncertainty, in % or parts, where the quantity states one and no other."""
    said = quantity.find(f"{DCC}relativeUncertainty")
    if said is None or column.standard is not None or column.kind == "phase":
        return column
    many = said.find(f"{DCC}relativeUncertaintyXmlList")
    one = said.find(f"{DCC}relativeUncertaintySingle")
    texts = (many, "valueXMLList", "unitXMLList") if many is not None else (one, "value", "unit")
    if texts[0] is None:
        return column
    unit = (texts[0].findtext(f"{SI}{texts[2]}") or "").split()
    scale = parse_dsi(unit[0]).factor if unit else 1.0
    parts = _spread(tuple(read_numbers(texts[0].findtext(f"{SI}{texts[1]}"))), len(column.values), "relative ones")
    given = tuple(
        None if value is None or part is None else abs(value) * part * scale
        for value, part in zip(column.values, parts, strict=True)
    )
    return replace(column, standard=given)


def _check_length(found: tuple[str, ...], count: int, what: str) -> None:
    if len(found) not in (1, count):
        raise QuantityRefused(f"{len(found)} {what} for {count} values")


def _spread(found: tuple[T, ...], count: int, what: str) -> tuple[T, ...]:
    """A list of one holds for all values; any other length than theirs is an error."""
    if len(found) == count:
        return found
    if len(found) == 1:
        return found * count
    raise QuantityRefused(f"{len(found)} {what} for {count} values of a quantity ({shown(found[:3])})")
