"""What a calibration report holds after ISO/IEC 17025:2017, 7.8.2 and 7.8.4, and what of it a record lacks.

The clauses, their letters and the wording are from memory. A record claims no accreditation: the list is there
so that what is missing is seen rather than overlooked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from vibcal_nb.analysis.readings.judged_point import state_rule
from vibcal_nb.display.results.view import rule_in_short
from vibcal_nb.display.writing.names import plural, spoken, subject
from vibcal_nb.display.writing.numbers import coverage
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.case import Case
from vibcal_nb.model.equipment import Readout, Reference
from vibcal_nb.model.items import CONVERTER, SENSOR
from vibcal_nb.model.names import MODULE_ALONE
from vibcal_nb.records.analyses import analysis_named

NOTE = "Clauses: ISO/IEC 17025:2017. The list shows what is there and what is missing; it claims no accreditation."


@dataclass(frozen=True, kw_only=True)
class ReportItem:
    """One thing that a report holds: its clause, what is asked, and what is said or, where missing, its remedy."""

    clause: str
    asked: str
    said: str | None
    remedy: str = ""


def list_report_items(case: Case) -> tuple[ReportItem, ...]:
    """List what a report of a case holds and lacks, in the order of the clauses."""
    return (*_common_items(case), *_calibration_items(case))


def missing_table(items: tuple[ReportItem, ...]) -> Table:
    """Return what is missing, with what would mend it."""
    rows = tuple(Row(cells=(i.clause, i.asked, i.remedy)) for i in items if i.said is None)
    return Table(
        caption="What this record lacks of a calibration report"
        if rows
        else "Of a calibration report nothing is missing",
        headings=("clause", "asked for", "what to do"),
        rows=rows,
        text_columns=(0, 1, 2),
        note=NOTE,
    )


def present_table(items: tuple[ReportItem, ...]) -> Table:
    """Return what is there, and what it says or where it stands."""
    return Table(
        caption="What of a calibration report this record holds",
        headings=("clause", "asked for", "in this record"),
        rows=tuple(Row(cells=(i.clause, i.asked, i.said)) for i in items if i.said is not None),
        text_columns=(0, 1, 2),
    )


def _item(clause: str, asked: str, said: str | None, remedy: str = "") -> ReportItem:
    clause = clause.replace(" ", "\N{NO-BREAK SPACE}")
    return ReportItem(clause=clause, asked=asked, said=said or None, remedy=remedy)


def _common_items(case: Case) -> Iterator[ReportItem]:
    visit, channel = case.visit, case.channel
    yield _item("7.8.2.1 a", "title", subject(case))
    yield _item("7.8.2.1 b", "laboratory, with address", visit.laboratory, 'laboratory = "name, address" in visit.toml')
    place = f"on site, asset {case.asset_tag} ({case.asset_name})"
    yield _item("7.8.2.1 c", "where it was done", place)
    yield _item("7.8.2.1 d", "unique identification, clear end", "the seal; name and page number on each page; its end")
    yield _item("7.8.2.1 e", "customer, with contact", visit.customer, 'customer = "name, contact" in visit.toml')
    yield _item("7.8.2.1 f", "method", analysis_named(case.test).method)
    where = f", {channel.location}" if channel.location else ""
    yield _identification(case, f"channel {channel.tag}{where}")
    yield _item("7.8.2.1 h", "receipt of the item", "not received: tested where it is installed")
    yield _item("7.8.2.1 i", "date of the work", visit.date.isoformat())
    yield _item("7.8.2.1 j", "date of issue", "in the seal")
    yield _item("7.8.2.1 k", "sampling", "none")
    yield _item("7.8.2.1 l", "results relate to the item tested only", "they relate to this channel on this day only")
    yield _item("7.8.2.1 m", "results with units", "summary and reading by reading")
    yield _item("7.8.2.1 n", "additions to, deviations from the method", _deviations(case))
    yield _item("7.8.2.1 o", "who authorises", None, "sign the record off (review): a typed name is none")
    yield _item("7.8.2.2", "data from the customer", "limits and set points as asset.toml states them")


def _identification(case: Case, channel: str) -> ReportItem:
    """An item is unambiguously identified by its serial number; a tag names a place, where items are exchanged."""
    asked = "item, unambiguously identified, and its condition"
    serials = [f"{item.part} {item.serial}" for item in case.items if item.serial is not None]
    wanted = CONVERTER if case.test == MODULE_ALONE else SENSOR
    if not any(item.part == wanted and item.serial is not None for item in case.items):
        remedy = f'{wanted} = {{ serial = "number" }} under [channels.{case.channel.tag}.items] in asset.toml'
        return _item("7.8.2.1 g", asked, None, remedy)
    return _item("7.8.2.1 g", asked, f"{channel}; {', '.join(serials)}; {spoken(case.condition)}")


def _deviations(case: Case) -> str:
    excluded = [reading for reading in case.readings if reading.exclude is not None]
    parts = ["no reading excluded"]
    if excluded:
        parts = [f"{plural(len(excluded), 'reading')} excluded, each with its reason"]
    if case.visit.notes:
        parts.append(f"notes: {case.visit.notes}")
    return "; ".join(parts)


def _calibration_items(case: Case) -> Iterator[ReportItem]:
    visit = case.visit
    stated = f"U at {coverage(visit.decision.coverage_probability)} beside each result, with its budget"
    yield _item("7.8.4.1 a", "measurement uncertainty", stated)
    ambient = None if visit.ambient_c is None else f"ambient {visit.ambient_c:g} °C"
    yield _item("7.8.4.1 b", "conditions", ambient, "ambient_c = temperature in visit.toml")
    yield from _traceability(case)
    said = f"this record: {spoken(case.condition)}; as found and as left have a record each"
    yield _item("7.8.4.1 d", "results before and after adjustment", said)
    yield _item("7.8.4.1 e", "statement of conformity", "the verdict")
    yield _item("7.8.4.1 f", "opinions and interpretations", "under 'Also seen', apart from the findings")
    yield _item("7.8.4.3", "no interval recommended unless agreed", "none is recommended")
    rule = rule_in_short(state_rule(visit.decision)).removeprefix("Rule: ")
    yield _item("7.8.6", "decision rule", f"{rule}, ILAC-G8:09/2019")


def _traceability(case: Case) -> Iterator[ReportItem]:
    items: tuple[Reference | Readout, ...] = (*case.references, *case.readouts)
    for item in items:
        asked = f"traceability of {item.id}"
        dates = f"calibrated {item.calibrated.isoformat()}, due {item.due.isoformat()}"
        said = None if item.certificate is None else f"certificate {item.certificate}, {dates}"
        yield _item("7.8.4.1 c", asked, said, f'{dates}; certificate = "number, issued by" {_place(item)}')
    if not case.references:
        yield _item("7.8.4.1 c", "traceability", None, "name the reference under equipment in visit.toml")


def _place(item: Reference | Readout) -> str:
    kind = "reference" if isinstance(item, Reference) else "readout"
    return f"under [[{kind}]] {item.id} in equipment.toml"
