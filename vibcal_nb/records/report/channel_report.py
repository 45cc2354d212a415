"""The sheet of a channel: one concise PDF of a visit's results, with the seals of the records it was made from.

It is typeset from the results themselves, performed again from the inputs and compared with the records, so that a
sheet cannot say anything else than they do. Its own SHA-256 stands in its keywords.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.result import Result
from vibcal_nb.display.drawing.kept_pictures import pictures_in
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import NotDone
from vibcal_nb.records.analyses import judges_readings
from vibcal_nb.records.files.places import SUPERSEDED, sheet_path
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.perform.differences import list_differences
from vibcal_nb.records.perform.perform import perform
from vibcal_nb.records.quantities.result_entry import result_entry
from vibcal_nb.records.report.report_data import sheet_content
from vibcal_nb.records.report.report_template import SHEET_TEMPLATE
from vibcal_nb.records.report.report_tests import SealedResult
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.page import joined
from vibcal_nb.records.seal.record_content import result_of

_SUM_NAME = "sheet-sha256 "
_NO_SUM = "0" * 64


class SheetRefused(NotDone):
    """A sheet that would not say what the records say; the text is one sentence."""


def write_channel_sheet(folder: VisitFolder, entries: Sequence[Mapping[str, Any]], *, results_folder: Path) -> Path:
    """Write the PDF of a channel beside its records and return its path.

    ``entries`` are the channel's entries of ``results.json``. Raises ``SheetRefused`` where a record is not
    intact or the inputs no longer give its result, ``OSError``.
    """
    items = [_sealed(folder, entry, results_folder) for entry in entries]
    path = sheet_path(results_folder / entries[0]["record"])
    _set_aside(path, [item.seal["digest"] for item in items])
    write_atomically(path, typeset(sheet_content(items), made=max(item.seal["made"] for item in items)))
    return path


def _set_aside(path: Path, seals: Sequence[str]) -> None:
    """Copy a sheet of other records away, under its own sum, before it is replaced."""
    if path.is_file():
        pdf = path.read_bytes()
        if set(seals_in(pdf)) != set(seals):
            digest = hashlib.sha256(pdf).hexdigest()
            write_atomically(path.parent / SUPERSEDED / f"{path.stem}.{digest[:12]}.pdf", pdf)


def _sealed(folder: VisitFolder, entry: Mapping[str, Any], results_folder: Path) -> SealedResult:
    check = check_seal((results_folder / entry["record"]).read_bytes())
    if check.seal is None or check.faults:
        raise SheetRefused(f"{entry['record']} is not intact ({'; '.join(check.faults)}): no sheet is made of it.")
    names = {name: entry[name] for name in ("channel", "analysis", "condition")}
    result: Result | None = None
    again: Any = result_of(check.notebook)
    if judges_readings(entry["analysis"]):  # others read many visits; `verify` performs them again
        result = perform(folder, **names)
        again = result_entry(result)
    differences = list_differences({**names, **_said(entry)}, {**names, **_said(again)})
    if differences:
        raise SheetRefused(f"{entry['record']} does not follow from the inputs as they are now: {differences[0]}.")
    return SealedResult(result=result, entry=entry, seal=check.seal, pictures=_pictures(check.notebook))


def _pictures(notebook: Any) -> dict[str, str]:
    """Return the SVG of every picture of a record, by what it says in words."""
    outputs = (output for cell in notebook["cells"] for output in cell.get("outputs", ()))
    pages = (joined(output.get("data", {}).get("text/html", "")) for output in outputs)
    return {picture.text: picture.svg for page in pages for picture in pictures_in(page)}


def _said(entry: Mapping[str, Any]) -> dict[str, Any]:
    return {name: entry.get(name) for name in ("verdict", "statement", "quantities")}


def typeset(content: Mapping[str, Any], *, made: str) -> bytes:
    """Typeset a sheet's content as PDF (PDF/UA-1) with its own sum inside. ``made``: ISO 8601 time of its making."""
    keywords = [*content["keywords"], _SUM_NAME + _NO_SUM]
    data = json.dumps({**content, "keywords": keywords}, ensure_ascii=False)
    pdf: bytes = _compiler().compile(
        input=SHEET_TEMPLATE.encode(),
        format="pdf",
        sys_inputs={"data": data},
        timestamp=int(datetime.fromisoformat(made).astimezone(UTC).timestamp()),
        pdf_standards=["ua-1"],
    )
    digest = hashlib.sha256(pdf).hexdigest()
    return pdf.replace((_SUM_NAME + _NO_SUM).encode(), (_SUM_NAME + digest).encode())


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
