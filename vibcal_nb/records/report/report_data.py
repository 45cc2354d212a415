"""What a channel's sheet shows, gathered from its results: plain texts, numbers as texts, figures as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.display.readings.input_tables import specification_table
from vibcal_nb.display.results.not_shown import list_not_shown
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.display.views import VIEWS
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.table import Table
from vibcal_nb.metrology.conformity.decision import decision_rule_sentence
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import SENSOR_ALONE
from vibcal_nb.records.report.annex import annex_tables
from vibcal_nb.records.report.report_content import list_report_items, missing_table
from vibcal_nb.records.report.report_tests import SealedResult, list_tests


def sheet_content(items: Sequence[SealedResult]) -> dict[str, Any]:
    """Gather what the sheet of one channel and visit shows, of one or more results; at least one is of a test."""
    every = sorted(items, key=_order)
    items = [item for item in every if item.result is not None]
    case: Case = items[0].result.case
    title = f"Vibration channel {case.channel.tag}"
    identity = f"{case.channel.tag}, asset {case.asset_tag}, visit {case.visit_name}"
    report = list_report_items(case)
    return {
        "title": title,
        "subtitle": f"{case.asset_name} ({case.asset_tag}), visit of {case.visit.date.isoformat()}: its calibration",
        "identity": identity,
        "author": [case.visit.performed_by],
        "keywords": [f"seal {item.seal['digest']}" for item in every],
        "item": _item_rows(items),
        "work": _work_rows(case),
        "rule": decision_rule_sentence(items[0].result.rule),
        "verdicts": [_verdict_row(item) for item in [*items, *(item for item in every if item.result is None)]],
        "tests": list_tests(items),
        "not_shown": list(dict.fromkeys(text for item in items for text in list_not_shown(item.result))),
        "missing": _missing_form(missing_table(report)),
        "records": _records(every),
        "signatures": [[case.visit.performed_by, "performed, date"], [case.visit.reviewed_by or "", "reviewed, date"]],
        "annex": [table for item in every for table in annex_tables(item.entry)],
    }


def _order(item: SealedResult) -> tuple[int, str]:
    names = list(VIEWS)
    test = item.entry["analysis"]
    return names.index(test) if test in names else len(names), item.entry["condition"]


def _item_rows(items: Sequence[SealedResult]) -> list[list[str]]:
    """What the channel should do, from each test's specification, each line once."""
    rows: dict[str, list[str]] = {}
    for item in items:
        case = item.result.case
        prefix = "sensor: " if case.test == SENSOR_ALONE else ""
        for name, text in (row.cells for row in specification_table(case).rows):
            if name not in ("visit", "reference", "readout"):
                rows.setdefault(f"{prefix}{name}", [f"{prefix}{name}", text])
    return list(rows.values())


def _work_rows(case: Case) -> list[list[str]]:
    visit = case.visit
    rows = [["performed", f"{visit.date.isoformat()}, {visit.performed_by}"]]
    rows += [[row.cells[0], row.cells[1]] for row in specification_table(case).rows if row.cells[0] in _EQUIPMENT]
    rows.append(["readings", case.table_file])
    for name, text in (("laboratory", visit.laboratory), ("customer", visit.customer), ("notes", visit.notes)):
        if text:
            rows.append([name, text])
    if visit.ambient_c is not None:
        rows.append(["ambient", f"{visit.ambient_c:g} °C"])
    return rows


_EQUIPMENT = ("reference", "readout")


def _verdict_row(item: SealedResult) -> dict[str, Any]:
    analysis, condition, verdict = (str(item.entry[name]) for name in ("analysis", "condition", "verdict"))
    name = spoken(analysis).capitalize()
    if item.result is None:
        findings = [_first_sentence(str(item.entry["statement"]))]
    else:
        findings = list(word_result(item.result).findings) or ["Nothing could be judged"]
    return {
        "heading": f"{name}, {spoken(condition)}",
        "word": verdict_text(verdict),
        "colour": VERDICT_LOOKS[verdict].colour,
        "findings": findings,
    }


def _first_sentence(statement: str) -> str:
    """What a statement says first after whose it is; the record and the annex hold the rest."""
    sentences = statement.rstrip(".").split(". ")
    return sentences[1] if len(sentences) > 1 else sentences[0]


def _missing_form(table: Table) -> dict[str, Any]:
    return {"headings": list(table.headings), "rows": [list(row.cells) for row in table.rows], "note": table.note}


def _records(items: Sequence[SealedResult]) -> dict[str, Any]:
    rows = [
        [item.entry["record"], item.seal["digest"], str(item.seal["made"]), str(item.seal["revision"])]
        for item in items
    ]
    return {"headings": ["record", "seal, SHA-256", "made", "revision"], "rows": rows}
