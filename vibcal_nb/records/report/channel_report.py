"""The sheet of a channel: one concise PDF of a visit's results, with the seals of the records it was made from.

It is typeset from the results themselves, performed again from what the records state that they were made from and
compared with the records, so that a sheet cannot say anything else than they do. Its own SHA-256 stands in its
keywords.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any

from vibcal_nb.analysis.channel.module_alone import ModuleAloneResult, analyse_module_alone
from vibcal_nb.analysis.result import Result
from vibcal_nb.display.drawing.kept_pictures import pictures_in
from vibcal_nb.model.case import select_case
from vibcal_nb.model.names import CHANNEL_VERDICT, MODULE_ALONE
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NotDone, NothingToAnalyse
from vibcal_nb.records.analyses import judges_readings
from vibcal_nb.records.files.places import SUPERSEDED, sheet_path
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.inputs_used.visit_statement import read_visit_statement
from vibcal_nb.records.perform.differences import list_differences
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.report.report_data import sheet_content
from vibcal_nb.records.report.report_template import SHEET_TEMPLATE
from vibcal_nb.records.report.sealed_result import SealedResult
from vibcal_nb.records.seal.intact import SealCheck, check_seal
from vibcal_nb.records.seal.page import joined
from vibcal_nb.records.seal.record_content import inputs_of, result_of

_SUM_NAME = "sheet-sha256 "
_NO_SUM = "0" * 64


class SheetRefused(NotDone):
    """A sheet that would not say what the records say; the text is one sentence."""


def write_channel_sheet(entries: Sequence[Mapping[str, Any]], *, results_folder: Path) -> Path:
    """Write the PDF of a channel beside its records and return its path.

    ``entries`` are the channel's entries of ``results.json``. Raises ``SheetRefused`` where a record is not
    intact or does not follow from what it states that it was made from, ``OSError``.
    """
    items = [_sealed(results_folder / entry["record"], entry) for entry in entries]
    path = sheet_path(results_folder / entries[0]["record"])
    pdf = _typeset_items(items)
    _set_aside(path, pdf)
    write_atomically(path, pdf)
    return path


def typeset_again(records: Sequence[Path]) -> bytes:
    """Typeset the PDF of these records of one channel, superseded ones among them, as it was made of them.

    Raises ``SheetRefused``, ``NotEncoded``, ``OSError``.
    """
    return _typeset_items([_sealed(record, _entry_of(record)) for record in records])


def _typeset_items(items: Sequence[SealedResult]) -> bytes:
    return typeset(sheet_content(items), made=max(item.seal["made"] for item in items))


def _set_aside(path: Path, pdf: bytes) -> None:
    """Copy another sheet than this away, under its own sum, before it is replaced."""
    before = read_plain(path) if is_plain(path) else pdf
    if before != pdf:
        digest = hashlib.sha256(before).hexdigest()
        write_atomically(path.parent / SUPERSEDED / f"{path.stem}.{digest[:12]}.pdf", before)


def _entry_of(record: Path) -> dict[str, Any]:
    """The entry that a record had in its results file, while it held."""
    check = check_seal(read_plain(record))
    entry = result_of(check.notebook)
    folder = record.parent.parent if record.parent.name == SUPERSEDED else record.parent
    place = f"{folder.name}/{entry['analysis']}.{entry['condition']}.ipynb"
    return {**entry, "record": place, "seal": (check.seal or {}).get("digest")}


def _sealed(record: Path, entry: Mapping[str, Any]) -> SealedResult:
    check = check_seal(read_plain(record))
    if check.seal is None or check.faults:
        raise SheetRefused(f"{entry['record']} is not intact ({'; '.join(check.faults)}): no sheet is made of it.")
    names = {name: entry[name] for name in ("channel", "analysis", "condition")}
    result: Result | None = None
    again: Any = result_of(check.notebook)
    if judges_readings(entry["analysis"]):  # others read many visits; `verify` performs them again
        result = perform(_stated_visit(check, entry), **names)
        again = result_entry(result)
    module = _module_alone(check, entry) if entry["analysis"] == CHANNEL_VERDICT else None
    differences = list_differences({**names, **_said(entry)}, {**names, **_said(again)})
    if differences:
        raise SheetRefused(f"{entry['record']} does not follow from what it was made from: {differences[0]}.")
    said = {name: again[name] for name in _said(again) if name in again}  # its keys in the order of the record's own
    pictures = _pictures(check.notebook)
    return SealedResult(result=result, entry={**entry, **said}, seal=check.seal, pictures=pictures, module=module)


def _module_alone(check: SealCheck, entry: Mapping[str, Any]) -> ModuleAloneResult | None:
    """What a whole channel's record found of the module alone, analysed again from what the record states."""
    said = entry["quantities"]["tests"].get(MODULE_ALONE)
    if said is None:
        return None
    visit, names = _stated_visit(check, entry), {name: entry[name] for name in ("channel", "condition")}
    try:
        found = analyse_module_alone(select_case(visit, test=MODULE_ALONE, **names))
    except NothingToAnalyse:
        return None  # asked for, and not read
    if found.verdict != said:
        raise SheetRefused(f"{entry['record']} does not follow from what it was made from: the module alone.")
    return found


def _pictures(notebook: Any) -> dict[str, str]:
    """Return the SVG of every picture of a record, by what it says in words."""
    outputs = (output for cell in notebook["cells"] for output in cell.get("outputs", ()))
    pages = (joined(output.get("data", {}).get("text/html", "")) for output in outputs)
    return {picture.text: picture.svg for page in pages for picture in pictures_in(page)}


def _stated_visit(check: SealCheck, entry: Mapping[str, Any]) -> VisitFolder:
    """The visit as far as the record used it, as the record states it."""
    stated = inputs_of(check.notebook).get("visits")
    if not stated:
        said = "does not state what it was made from: no sheet is made of it; run with --fresh"
        raise SheetRefused(f"{entry['record']} {said}.")
    return read_visit_statement(stated[0], Path(str(stated[0]["name"])))


def _said(entry: Mapping[str, Any]) -> dict[str, Any]:
    return {name: entry.get(name) for name in ("verdict", "statement", "quantities")}


def typeset(content: Mapping[str, Any], *, made: str) -> bytes:
    """Typeset a sheet's content as PDF (PDF/UA-1) with its own sum inside. ``made``: ISO 8601 time of its making."""
    keywords = [*content["keywords"], _SUM_NAME + _NO_SUM]
    data = json.dumps({**content, "keywords": keywords}, ensure_ascii=False)
    with _one_at_a_time:
        pdf: bytes = _compiler().compile(
            input=SHEET_TEMPLATE.encode(),
            format="pdf",
            sys_inputs={"data": data},
            timestamp=int(datetime.fromisoformat(made).astimezone(UTC).timestamp()),
            pdf_standards=["ua-1"],
        )
    digest = hashlib.sha256(pdf).hexdigest()
    return pdf.replace((_SUM_NAME + _NO_SUM).encode(), (_SUM_NAME + digest).encode())


_one_at_a_time = Lock()  # typst's compiler is of one thread at a time


@cache
def _compiler() -> Any:
    import matplotlib as mpl
    import typst  # only where a sheet is made

    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    return typst.Compiler(font_paths=[str(fonts)], ignore_system_fonts=True)


def has_own_sum(pdf: bytes) -> bool:
    """Whether a sheet's bytes are those its own sum was taken over."""
    sums = set(re.findall(_SUM_NAME.encode() + rb"([0-9a-f]{64})", pdf))
    if len(sums) != 1:
        return False
    (digest,) = sums
    blank = pdf.replace(_SUM_NAME.encode() + digest, (_SUM_NAME + _NO_SUM).encode())
    return hashlib.sha256(blank).hexdigest().encode() == digest


def seals_in(pdf: bytes) -> list[str]:
    """Return the seals of the records that a sheet was made from, in its order."""
    found = re.findall(rb"seal ([0-9a-f]{64})", pdf)
    return list(dict.fromkeys(digest.decode() for digest in found))
