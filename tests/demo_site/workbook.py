"""A reading table as an XLSX workbook whose bytes depend on nothing but its cells."""

from __future__ import annotations

import zipfile
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_DOCUMENT = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_TYPE = "application/vnd.openxmlformats-"
_FORMATS = {0: "0", 1: "0.0", 2: "0.00", 3: "0.000"}
_PERCENTAGE = "0.0%"


@dataclass(frozen=True)
class Number:
    """A number as it was typed, shown so; a ``percentage`` is typed in % and held as a share, as spreadsheets do."""

    text: str
    percentage: bool = False


Cell = str | Number


def write_workbook(path: Path, rows: list[list[str]], *, numeric: set[str], written: str) -> None:
    """Write ``rows`` (headings first) as one sheet; ``numeric`` columns become numbers shown as typed."""
    cells: list[list[Cell]] = [list(rows[0])]
    cells += [
        [Number(text) if text and rows[0][c] in numeric else text for c, text in enumerate(row)] for row in rows[1:]
    ]
    write_sheets(path, {"readings": cells}, written=written)


def write_sheets(path: Path, sheets: dict[str, list[list[Cell]]], *, written: str) -> None:
    """Write a workbook.

    Stored without compression and with fixed dates, so that no library's version shows in the bytes.
    """
    named = [(name, f"worksheets/sheet{i}.xml") for i, name in enumerate(sheets, 1)]
    listed = "".join(
        f'<sheet name="{escape(name)}" sheetId="{i}" r:id="rId{i}"/>' for i, (name, _) in enumerate(named, 1)
    )
    parts = {
        "[Content_Types].xml": _content_types([target for _, target in named]),
        "_rels/.rels": _relations(
            (f"{_DOCUMENT}/officeDocument", "xl/workbook.xml"),
            (f"{_PACKAGE}/relationships/metadata/core-properties", "docProps/core.xml"),
        ),
        "docProps/core.xml": _core(written),
        "xl/workbook.xml": f'<workbook xmlns="{_MAIN}" xmlns:r="{_DOCUMENT}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _relations(
            *((f"{_DOCUMENT}/worksheet", target) for _, target in named), (f"{_DOCUMENT}/styles", "styles.xml")
        ),
        "xl/styles.xml": _styles(_has_percentages(sheets)),
        **{f"xl/{target}": _sheet(sheets[name]) for name, target in named},
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        for name, text in parts.items():
            info = zipfile.ZipInfo(name, date_time=(2025, 1, 1, 0, 0, 0))
            info.create_system = 3
            info.external_attr = 0o644 << 16
            archive.writestr(info, (_HEAD + text).encode("utf-8"))


def _relations(*targets: tuple[str, str]) -> str:
    inner = "".join(
        f'<Relationship Id="rId{i}" Type="{kind}" Target="{target}"/>' for i, (kind, target) in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{_PACKAGE}/relationships">{inner}</Relationships>'


def _content_types(sheets: list[str]) -> str:
    sheet = "officedocument.spreadsheetml"
    kinds = {
        "/xl/workbook.xml": f"{_TYPE}{sheet}.sheet.main+xml",
        **{f"/xl/{target}": f"{_TYPE}{sheet}.worksheet+xml" for target in sheets},
        "/xl/styles.xml": f"{_TYPE}{sheet}.styles+xml",
        "/docProps/core.xml": f"{_TYPE}package.core-properties+xml",
    }
    inner = "".join(f'<Override PartName="{part}" ContentType="{kind}"/>' for part, kind in kinds.items())
    default = f'<Default Extension="rels" ContentType="{_TYPE}package.relationships+xml"/>'
    default += '<Default Extension="xml" ContentType="application/xml"/>'
    return f'<Types xmlns="{_PACKAGE}/content-types">{default}{inner}</Types>'


def _core(written: str) -> str:
    moment = f"{written}T12:00:00Z"
    stamps = "".join(
        f'<dcterms:{name} xsi:type="dcterms:W3CDTF">{moment}</dcterms:{name}>' for name in ("created", "modified")
    )
    return (
        f'<cp:coreProperties xmlns:cp="{_PACKAGE}/metadata/core-properties" '
        'xmlns:dcterms="http://purl.org/dc/terms/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">'
        f"{stamps}</cp:coreProperties>"
    )


def _has_percentages(sheets: dict[str, list[list[Cell]]]) -> bool:
    return any(isinstance(c, Number) and c.percentage for rows in sheets.values() for row in rows for c in row)


def _styles(percentages: bool) -> str:
    codes = [*_FORMATS.values(), *([_PERCENTAGE] if percentages else [])]
    formats = "".join(f'<numFmt numFmtId="{170 + n}" formatCode="{code}"/>' for n, code in enumerate(codes))
    cells = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>' + "".join(
        f'<xf numFmtId="{170 + n}" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
        for n in range(len(codes))
    )
    plain = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
    return (
        f'<styleSheet xmlns="{_MAIN}"><numFmts count="{len(codes)}">{formats}</numFmts>'
        '<fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
        '<fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        f'<cellStyleXfs count="1">{plain}</cellStyleXfs>'
        f'<cellXfs count="{1 + len(codes)}">{cells}</cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )


def _sheet(rows: list[list[Cell]]) -> str:
    lines = [
        f'<row r="{r}">' + "".join(_cell(f"{chr(65 + c)}{r}", cell) for c, cell in enumerate(row)) + "</row>"
        for r, row in enumerate(rows, 1)
    ]
    return f'<worksheet xmlns="{_MAIN}"><sheetData>{"".join(lines)}</sheetData></worksheet>'


def _cell(place: str, cell: Cell) -> str:
    if isinstance(cell, Number):
        digits = len(cell.text.partition(".")[2])
        if cell.percentage:
            return f'<c r="{place}" s="{1 + len(_FORMATS)}"><v>{float(cell.text) / 100.0:.10g}</v></c>'
        return f'<c r="{place}" s="{1 + digits}"><v>{cell.text}</v></c>'
    if not cell:
        return ""
    return f'<c r="{place}" t="inlineStr"><is><t>{escape(cell)}</t></is></c>'
