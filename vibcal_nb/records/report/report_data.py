"""What a channel's sheet shows, gathered from its results: plain texts, numbers as texts, figures as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.display.readings.input_tables import specification_table, specifications_table
from vibcal_nb.display.relay.service_words import service_remarks
from vibcal_nb.display.results.not_shown import list_not_shown
from vibcal_nb.display.results.statements import word_result
from vibcal_nb.display.views import VIEWS
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.table import Table
from vibcal_nb.metrology.conformity.decision import decision_rule_sentence
from vibcal_nb.model.case import Case
from vibcal_nb.model.names import CONDITIONS, DRIFT, INDICATION
from vibcal_nb.records.files.canonical import sum_of
from vibcal_nb.records.report.report_answer import chip, first_sentence, report_answer
from vibcal_nb.records.report.report_content import list_report_items, missing_table
from vibcal_nb.records.report.report_figures import report_figures
from vibcal_nb.records.report.report_matrix import report_matrix, set_point_rows, set_point_unit
from vibcal_nb.records.report.sealed_result import SealedResult


def sheet_content(items: Sequence[SealedResult]) -> dict[str, Any]:
    """Gather what the sheet of one channel and visit shows, of one or more results; at least one is of a test."""
    every = sorted(items, key=_order)
    items = [item for item in every if item.result is not None]
    case: Case = items[0].result.case
    location = f"{case.channel.location} · " if case.channel.location else ""
    return {
        "title": f"Vibration channel {case.channel.tag}",
        "subtitle": f"{location}{case.asset_name} ({case.asset_tag}) · visit of {case.visit.date.isoformat()}",
        "identity": f"{case.channel.tag}, asset {case.asset_tag}, visit {case.visit_name}",
        "author": [case.visit.performed_by],
        "keywords": [f"seal {item.seal['digest']}" for item in every],
        "answer": report_answer(every),
        "matrix": report_matrix(every),
        "conditions": [[name, spoken(name)] for name in CONDITIONS if any(item.condition == name for item in every)],
        "set_points": {"unit": set_point_unit(every), "rows": set_point_rows(every)},
        "rule": decision_rule_sentence(items[0].result.rule),
        "service": _service_lines(case),
        "return_to_service": "" if _is_back(case) else RETURN_TO_SERVICE,
        "signatures": [[case.visit.performed_by, "performed, date"], [case.visit.reviewed_by or "", "reviewed, date"]],
        "figures": report_figures(every),
        "notes": _notes(items),
        "drift": [_drift_row(item) for item in every if item.analysis == DRIFT],
        "not_shown": list(dict.fromkeys(text for item in items for text in list_not_shown(item.result))),
        "item": _item_rows(items),
        "work": _work_rows(case),
        "missing": _missing_form(missing_table(list_report_items(case))),
        "records": [_record(item) for item in every],
    }


RETURN_TO_SERVICE = (
    "Back in service by the site's procedure, under its permit: sensor and cable in place, inhibits and bypasses "
    "removed, output and alarms seen to follow. By, date, time:"
)


def _service_lines(case: Case) -> list[str]:
    """What the visit states of inhibit and return to service, and what it does not state, in sentences."""
    open_since = case.visit.trail.of((case.channel.tag,)).open_since
    open_still = [f"INHIBITED SINCE {open_since} AND NOT PROVED BACK IN SERVICE"] if open_since is not None else []
    return [*open_still, *service_remarks(case)]


def _is_back(case: Case) -> bool:
    trail = case.visit.trail.of((case.channel.tag,))
    return trail.inhibit is not None and trail.open_since is None


def _order(item: SealedResult) -> tuple[int, str]:
    names = list(VIEWS)
    test = item.entry["analysis"]
    return names.index(test) if test in names else len(names), item.entry["condition"]


def _notes(items: Sequence[SealedResult]) -> list[list[str]]:
    """What was not verified and what else was seen, test by test; the return to service has its own place."""
    elsewhere = set(service_remarks(items[0].result.case))
    said: dict[str, dict[str, None]] = {"Not verified": {}, "Also seen": {}}
    for item in items:
        wording, of = word_result(item.result), f"{spoken(item.analysis)}, {spoken(item.condition)}"
        for title, texts in (("Not verified", wording.gaps), ("Also seen", wording.remarks)):
            said[title].update(dict.fromkeys(f"{of}: {text}" for text in texts if text not in elsewhere))
    return [[title, *texts] for title, texts in said.items() if texts]


def _drift_row(item: SealedResult) -> dict[str, Any]:
    sentence = first_sentence(str(item.entry["statement"]))
    return {"of": f"Drift, {spoken(item.condition)}", "chip": chip(item.verdict), "sentence": sentence}


def _item_rows(items: Sequence[SealedResult]) -> list[list[str]]:
    own = [item for item in items if item.analysis != INDICATION] or items  # a display's units are not the item's
    rows = specifications_table(item.result.case for item in own).rows
    return [list(row.cells) for row in rows if row.cells[0] not in ("visit", *_EQUIPMENT)]


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


def _missing_form(table: Table) -> dict[str, Any]:
    return {"headings": list(table.headings), "rows": [list(row.cells) for row in table.rows], "note": table.note}


def _record(item: SealedResult) -> dict[str, Any]:
    return {
        "record": item.entry["record"],
        "made": str(item.seal["made"]),
        "revision": str(item.seal["revision"]),
        "verdict": item.verdict,
        "seal": item.seal["digest"],
        "numbers": sum_of(item.entry["quantities"]),
    }
